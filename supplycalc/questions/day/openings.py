"""Which outlets are open: draws begin when they are due and their fixture is free."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable

from supplycalc.questions.day.draws import PlannedDraw
from supplycalc.questions.day.laws import Laws, OpenSet
from supplycalc.questions.day.tally import OpenDraw, Tally, Watch


class Openings:
    """The draws to come, those that wait for their fixture, and those that run."""

    def __init__(self, laws: Laws, draws: Iterable[PlannedDraw], tally: Tally) -> None:
        self._laws, self._tally = laws, tally
        self._draws = iter(draws)
        self._next = next(self._draws, None)
        self._waiting: dict[str, deque[PlannedDraw]] = {}
        self.draws: list[OpenDraw] = []
        """Running, in the order of their uses' numbers."""
        self.set: OpenSet = laws.of(())
        self.watches: tuple[Watch, ...] = ()
        """Of the open connections, in the order of the set's."""
        self.by_volume = False
        """Whether a volume ends any of them."""

    def until(self, until: float) -> float:
        """The next time up to `until` at which a draw begins or its time is over [s]."""
        if self._next is not None and self._next.start < until:
            until = self._next.start
        for one in self.draws:
            if one.end < until:
                until = one.end
        return until

    def due(self, now: float) -> bool:
        """Begin and end what is due at a time [s]; whether anything changed."""
        changed = False
        for one in self.draws:
            if one.end <= now or one.left <= 0.0:
                self._end(now)
                changed = True
                break
        while self._next is not None and self._next.start <= now:
            draw, self._next = self._next, next(self._draws, None)
            name = draw.use.fixture.name
            if any(one.fixture == name for one in self.draws):
                self._waiting.setdefault(name, deque()).append(draw)
            else:
                self._begin(draw, now)
                changed = True
        if changed:
            self._reset()
        return changed

    def _end(self, now: float) -> None:
        for one in [one for one in self.draws if one.end <= now or one.left <= 0.0]:
            self.draws.remove(one)
            self._tally.events += 1
            queue = self._waiting.get(one.fixture)
            if queue:
                self._begin(queue.popleft(), now)

    def _begin(self, draw: PlannedDraw, now: float) -> None:
        self.draws.append(
            OpenDraw(
                number=self._laws.number(draw.use),
                fixture=draw.use.fixture.name,
                end=math.inf if draw.duration is None else now + draw.duration,
                left=math.inf if draw.volume is None else draw.volume,
            )
        )
        self._tally.draws += 1
        self._tally.events += 1

    def _reset(self) -> None:
        self.draws.sort(key=lambda one: one.number)
        self.set = self._laws.of(tuple(one.number for one in self.draws))
        self.by_volume = any(one.left < math.inf for one in self.draws)
        watches = self._tally.watches
        self.watches = tuple(
            watches.setdefault(one.outlet.name, Watch(one.outlet)) for one in self.set.connections
        )
