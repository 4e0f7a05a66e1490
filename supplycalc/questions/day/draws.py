"""Which draws run, wait for their fixture, or are still to come."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable

from supplycalc.chance.random_days import PlannedDraw
from supplycalc.questions.day.draw_curve import DrawCurve, DrawCurves
from supplycalc.questions.day.totals import OpenDraw, Totals, Watch
from supplycalc.units.quantities import Pressure, Time


class Openings:
    """The draws to come, those that wait for their fixture, and those that run."""

    def __init__(self, curves: DrawCurves, draws: Iterable[PlannedDraw], totals: Totals) -> None:
        self._curves, self._totals = curves, totals
        self._draws = iter(draws)
        self._next = next(self._draws, None)
        self._waiting: dict[str, deque[PlannedDraw]] = {}
        self.draws: list[OpenDraw] = []
        """Running, in the order of their uses' numbers."""
        self.curve: DrawCurve = curves.of(())
        """Of the open outlets."""
        self.watches: tuple[Watch, ...] = ()
        """Of the open connections, in the curve's order."""
        self.head: Pressure | None = None
        """At which a second tank is seen; None: none, or it rests."""
        self.by_volume = False
        """Whether a volume ends any of them."""

    def curve_at(self, head: Pressure | None) -> DrawCurve:
        """Of the open outlets, with a second tank seen at a pressure, or shut."""
        return self._curves.of(tuple(draw.number for draw in self.draws), head)

    def see(self, head: Pressure | None) -> None:
        """See a second tank at another pressure."""
        if head != self.head:
            self.head, self.curve = head, self.curve_at(head)

    def until(self, until: Time) -> Time:
        """The next time up to `until` at which a draw begins or its time is over."""
        if self._next is not None and self._next.start < until:
            until = self._next.start
        for draw in self.draws:
            if draw.end < until:
                until = draw.end
        return until

    def due(self, now: Time) -> bool:
        """Begin and end what is due at a time; whether anything changed."""
        changed = False
        for ended in [draw for draw in self.draws if draw.end <= now or draw.left <= 0.0]:
            self._end(ended, now)
            changed = True
        while self._next is not None and self._next.start <= now:
            planned, self._next = self._next, next(self._draws, None)
            name = planned.use.fixture.name
            if any(draw.fixture == name for draw in self.draws):
                self._waiting.setdefault(name, deque()).append(planned)
            else:
                self._begin(planned, now)
                changed = True
        if changed:
            self._reset()
        return changed

    def _end(self, ended: OpenDraw, now: Time) -> None:
        self.draws.remove(ended)
        self._totals.events += 1
        queue = self._waiting.get(ended.fixture)
        if queue:
            self._begin(queue.popleft(), now)

    def _begin(self, planned: PlannedDraw, now: Time) -> None:
        self.draws.append(
            OpenDraw(
                number=self._curves.number(planned.use),
                fixture=planned.use.fixture.name,
                end=math.inf if planned.duration is None else now + planned.duration,
                left=math.inf if planned.volume is None else planned.volume,
            )
        )
        self._totals.draws += 1
        self._totals.events += 1

    def _reset(self) -> None:
        self.draws.sort(key=lambda draw: draw.number)
        self.curve = self.curve_at(self.head)
        self.by_volume = any(draw.left < math.inf for draw in self.draws)
        watches = self._totals.watches
        self.watches = tuple(
            watches.setdefault(outlet.name, Watch(outlet)) for outlet in self.curve.outlets
        )
