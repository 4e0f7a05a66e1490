"""`supplycalc report` on real files, and the watched page."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from html import unescape
from html.parser import HTMLParser
from pathlib import Path

import pytest

import supplycalc
from supplycalc.questions.report.watch import Shown, page_server
from tests.commands.files import SCENARIOS, cottage, run


class Outline(HTMLParser):
    """The tags of a page and the headings of its sections."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.headings: list[str] = []
        self._heading = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Every tag; a heading begins."""
        self.tags.append(tag)
        if tag == "h2":
            self._heading = True
            self.headings.append("")

    def handle_endtag(self, tag: str) -> None:
        """A heading ends."""
        if tag == "h2":
            self._heading = False

    def handle_data(self, data: str) -> None:
        """What a heading says."""
        if self._heading:
            self.headings[-1] += data


def outline(page: str) -> Outline:
    """A page, read."""
    reader = Outline()
    reader.feed(page)
    return reader


def written(folder: Path, path: Path) -> str:
    """The page of a file, as the command writes it."""
    target = folder / f"{path.stem}.html"
    run("report", path, "-o", target)
    return target.read_text(encoding="utf-8")


def test_sections_without_data_do_not_appear(tmp_path: Path) -> None:
    """A house on a main has no pump, one without buried pipe nothing that gets locked in."""
    well = outline(written(tmp_path, SCENARIOS / "ridge-cottage.toml")).headings
    main = outline(written(tmp_path, SCENARIOS / "tower-loft.toml")).headings

    assert "Pump, well and tank" in well
    assert "What the pour or the backfill locks in" in well
    assert "Calculation sheet" in well
    assert "Pump, well and tank" not in main
    assert "Options side by side" in main


def test_a_pump_that_draws_from_an_open_tank_is_judged_by_no_well(tmp_path: Path) -> None:
    """Nothing is said of a yield that no file can give; the tank it draws from is named."""
    page = written(tmp_path, SCENARIOS / "weak-well-cistern.toml")

    assert "Pump and tanks" in outline(page).headings
    assert "Well: does it keep up?" not in page
    assert "pipe from the open tank taken off" in page


def test_a_house_that_water_runs_down_to_has_no_pump_to_lock_out(tmp_path: Path) -> None:
    """No caution and no line of the order for what it has not; `well`, which tells of boosters,
    has theirs."""
    hill = SCENARIOS / "hill-tank.toml"
    page = written(tmp_path, hill)

    assert "Electricity" not in page
    assert "its pump, cable" not in page
    assert "a booster's circuit" in " ".join(run("well", hill, "--full").stdout.split())
    assert "lock out the pump" in written(tmp_path, SCENARIOS / "weak-well-cistern.toml")


def test_the_columns_of_waits_and_of_what_is_locked_in_are_explained(tmp_path: Path) -> None:
    """What a class of waiting is, and what a run can carry if the rest grows."""
    page = re.sub("</?span[^>]*>", "", written(tmp_path, SCENARIOS / "ridge-cottage.toml"))

    assert "class: good up to 10 s, fair up to 30 s, long beyond" in page
    assert "if rest grows: what is covered stays" in page


def test_figures_below_nothing_keep_their_unit_on_a_phone(tmp_path: Path) -> None:
    """Their sign is a minus, not a hyphen; and a European tube's name is not broken either."""
    page = written(tmp_path, SCENARIOS / "town-house.toml")

    assert re.search(r'<span class="phone">H </span>−[\d.]+<span class="phone"> kPa</span>', page)
    assert '<span class="size">pe100-sdr11</span>' in page


def test_an_insulations_grade_is_not_broken_at_its_hyphen(tmp_path: Path) -> None:
    """An R at a line's end and a 3 on the next are read as two things."""
    page = written(tmp_path, SCENARIOS / "two-houses-and-a-barn.toml")

    assert '<span class="size">R-3</span>' in page


def test_hot_water_of_a_main_is_told_with_the_main_as_usual(tmp_path: Path) -> None:
    """A main has no place that a gauge is "at", as cut-in is one."""
    page = written(tmp_path, SCENARIOS / "town-house.toml")

    assert "as used, alone, with the main as usual" in page


def test_a_hut_on_a_cistern_asks_no_water_supplier(tmp_path: Path) -> None:
    """Nobody but its owner lays its line."""
    page = written(tmp_path, SCENARIOS / "cistern-booster.toml")

    assert "usually laid in DN 25" in page
    assert "water supplier" not in page


def test_storage_is_not_said_to_be_needless_where_no_yield_is_known(tmp_path: Path) -> None:
    """A well nobody tested may need any storage or none: the page has no table of unknowns."""
    page = written(tmp_path, SCENARIOS / "holiday-house.toml")

    assert "storage needed beside" not in page
    assert "storage needed beside" in written(tmp_path, SCENARIOS / "ridge-cottage.toml")


def test_the_thick_line_among_the_options_is_the_size_of_the_page(tmp_path: Path) -> None:
    """Where the size with least pipe breaks a limit, the page takes another, and shows that."""
    page = written(tmp_path, SCENARIOS / "valley-house.toml")
    options = page.split("<svg")[3:]
    names = [svg for svg in options if "with each size of service" in svg]

    assert names
    assert all(re.search(r"<text[^>]*bold[^>]*>1-1/4</text>", svg) for svg in names)


def test_options_say_which_size_the_page_takes_where_least_pipe_is_another(tmp_path: Path) -> None:
    """Least pipe leaves 1.1 psi; the page's own verdict speaks of the size that leaves 2.2 psi."""
    page = unescape(
        re.sub(r"<[^>]*>", "", written(tmp_path, SCENARIOS / "old-farmhouse.toml"))
    ).replace("\xa0", " ")

    assert "service at 1-1/4 inch works and is the choice with least pipe, with 1.1" in page
    assert "This page takes 1-1/2 inch, with 2.2 psi to spare." in page
    assert "|" not in page.split("Assumed, because")[-1], "a choice of words is left"
    plain = unescape(re.sub(r"<[^>]*>", "", written(tmp_path, SCENARIOS / "lake-hut.toml")))
    assert "This page takes" not in plain


def test_the_caption_of_the_options_says_where_their_lines_are_one(tmp_path: Path) -> None:
    """Behind a reducing valve they are; where all fail, the page has other sizes than they."""
    valve = written(tmp_path, SCENARIOS / "town-house.toml")
    fails = written(tmp_path, SCENARIOS / "tower-loft.toml")

    assert "40x3.7 and 50x4.6 end on the line of 32x3.0: from where they meet" in valve
    assert "end on the line of" not in fails
    assert "thick the one on this page, though with every other size chosen anew" in fails


def test_a_tube_and_a_span_stay_on_one_line(tmp_path: Path) -> None:
    """On a narrow page "copper-l" ended a line with its hyphen, "-5.0 ± 3.5" with its sign."""
    page = written(tmp_path, SCENARIOS / "old-farmhouse.toml")

    for kept in ("copper-l", "-5.0 ± 3.5", "± 5.4 psi"):
        assert f'<span class="size">{kept}</span>' in page


def test_a_page_on_which_something_fails_does_not_open_as_good(tmp_path: Path) -> None:
    """Hot pipe over the code's length fails though pressures are kept, and is one failure."""
    text = (SCENARIOS / "bunkhouse.toml").read_text(encoding="utf-8")
    (path := tmp_path / "long.toml").write_text(text.replace('"10 ft"', '"12 ft"'))
    page = written(tmp_path, path)

    assert "Fails, though no fixture is short of pressure" in page
    assert 'class="verdict bad"' in page
    assert "Fails elsewhere:" not in page
    assert "away; the residential code ends hot pipe" not in page  # in other words, once more


def test_a_failing_supply_is_neither_set_nor_bought(tmp_path: Path) -> None:
    """The file's switch stands beside the change that raises it; the page says which is which."""
    fails = unescape(written(tmp_path, SCENARIOS / "low-switch.toml"))
    works = unescape(written(tmp_path, SCENARIOS / "valley-house.toml"))

    for said in ("Mend first: the design fails. What stands here", "Do not buy yet: the design"):
        assert said in fails
        assert said not in works


def test_what_belongs_together_is_not_broken(tmp_path: Path) -> None:
    """1-1/4 at the end of a line would read as 1, then 1/4; a number keeps its unit."""
    page = written(tmp_path, SCENARIOS / "ridge-cottage.toml")

    assert 'service at <span class="size">1-1/4 inch</span>' in page
    assert '<span class="size">50.0 psi</span> at the source' in page
    assert '<span class="size">pe-cts-sdr9</span>' in page
    copper = written(tmp_path, SCENARIOS / "tower-loft.toml")
    assert '<span class="size">copper-l</span>, inside' in copper
    assert "where <code>sizes</code> says so" in page


@pytest.mark.parametrize("name", ["old-farmhouse", "valley-house", "ridge-cottage"])
def test_the_verdict_counts_the_warnings_that_stand_below(tmp_path: Path, name: str) -> None:
    """Those of hot water, pour and well too, on the page; on a screen those that it shows."""
    for text in (
        written(tmp_path, SCENARIOS / f"{name}.toml"),
        run("size", SCENARIOS / f"{name}.toml", "--full").stdout,
    ):
        warned = text.count('<strong class="level">Warning') + len(re.findall(r"\n  WARN", text))
        told = re.search(r"(\w+) warnings? stands? below", re.sub(r"\s+", " ", text))

        assert ("" if told is None else told[1]) == ("", "One", "Two", "Three", "Four")[warned]


def test_markup_in_names_comes_out_as_text(tmp_path: Path) -> None:
    """In the page, its drawings and its alternative texts."""
    text = cottage(tmp_path).read_text()
    nasty = "<script>alert(1)</script>"
    text = text.replace('"sink"', f"'{nasty}'").replace("Test cottage", f"</title>{nasty}")
    (path := tmp_path / "nasty.toml").write_text(text)
    page = written(tmp_path, path)

    assert "script" not in outline(page).tags
    assert "Citation(" not in page
    assert nasty not in page
    assert nasty in unescape(page)
    assert not re.search(r'(src|href)=(?!"(#|data:))', page)


def test_the_same_file_gives_the_same_page(tmp_path: Path) -> None:
    """No date, no path: two pages of one file are equal, byte by byte, and the API's too."""
    path = cottage(tmp_path)
    page = written(tmp_path, path)
    (tmp_path / "c.html").unlink()

    assert written(tmp_path, path) == page
    own = supplycalc.report(supplycalc.load(path))
    assert own == page.replace(" from c.toml", "")


@pytest.mark.parametrize("name", ["ridge-cottage", "holiday-house", "tower-loft", "slow-well"])
def test_numbers_of_the_page_are_those_of_size(tmp_path: Path, name: str) -> None:
    """Every fixture's pressure and every run's size, as `size --json` has them."""
    path = SCENARIOS / f"{name}.toml"
    page = unescape(re.sub(r"<[^>]+>", " ", written(tmp_path, path)))
    squeezed = re.sub(r"\s+", " ", page)
    data = json.loads(run("size", path, "--json").stdout)
    for fixture in data["fixtures"]:
        residual = fixture["residual"]
        if fixture["used_up_in"] is None:
            digits = 1 if residual["unit"] in ("psi", "kPa") else 3
            text = f"{residual['value']:.{digits}f} {residual['unit']}"
            whole = f"{residual['value']:.0f} {residual['unit']}"
            assert text in squeezed or whole in squeezed, fixture["name"]
    for pipe in data["runs"]:
        assert f"{pipe['name']} {pipe['material']}" in squeezed.replace(" material ", " ").replace(
            " tube ", " "
        )


def test_json_holds_every_answer(tmp_path: Path) -> None:
    """What each command prints of the house stands under its name."""
    path = cottage(tmp_path, cut_in="50 psi")
    data = json.loads(run("report", path, "--json").stdout)

    assert data["size"] == json.loads(run("size", path, "--json").stdout)
    assert data["hot"] == json.loads(run("hot", path, "--json").stdout)
    assert data["calculation"]["lines"]


# --- watching ---


@pytest.fixture
def served() -> Iterator[tuple[str, Shown]]:
    """A page that a server shows."""
    shown = Shown()
    shown.put("<p>first</p>", "one")
    with page_server(shown) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}", shown
        server.shutdown()


def fetched(address: str, **more: object) -> tuple[int, bytes]:
    """Status and content of an answer."""
    asked = urllib.request.Request(address, **more)  # type: ignore[arg-type]
    try:
        with urllib.request.urlopen(asked, timeout=10) as answer:
            return answer.status, answer.read()
    except urllib.error.HTTPError as error:
        return error.code, b""


def test_the_page_is_served_to_this_machine_alone(served: tuple[str, Shown]) -> None:
    """Bound to the loopback address; the page and its state are all there is."""
    address, shown = served

    assert fetched(f"{address}/") == (200, b"<p>first</p>")
    assert fetched(f"{address}/state") == (200, b"one")
    shown.put("<p>second</p>", "two")
    assert fetched(f"{address}/") == (200, b"<p>second</p>")
    for path in ("/etc/passwd", "/../c.toml", "/?file=c.toml"):
        assert fetched(f"{address}{path}")[0] == 404
    other = {"Host": "elsewhere.example"}
    assert fetched(f"{address}/", headers=other)[0] == 403


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH"])
def test_nothing_can_be_written_through_it(served: tuple[str, Shown], method: str) -> None:
    """Every method but GET is refused."""
    address, _ = served

    assert fetched(f"{address}/", method=method, data=b"x")[0] == 501


def test_watching_writes_no_file(tmp_path: Path) -> None:
    """With -o or --json, or without a file, it says so and ends."""
    path = cottage(tmp_path)
    for call in ((path, "-o", tmp_path / "a.html"), (path, "--json"), (tmp_path / "none.toml",)):
        assert run("report", *call, "--watch").exit_code == 2
    assert not (tmp_path / "a.html").exists()


def test_a_saved_file_is_rendered_anew(tmp_path: Path) -> None:
    """Edit, save, see; a mistake is shown as such and mended by the next saving; Ctrl-C
    ends it without a word."""
    path = cottage(tmp_path, cut_in="50 psi")
    calls = [sys.executable, "-m", "supplycalc", "report", str(path), "--watch"]
    quiet = {**os.environ, "BROWSER": "true"}
    watching = subprocess.Popen(calls, stderr=subprocess.PIPE, text=True, env=quiet)
    assert watching.stderr is not None
    try:
        told = watching.stderr.readline()
        address = re.findall(r"http://127\.0\.0\.1:\d+/", told)[0]
        first = fetched(address)[1].decode()
        whole = path.read_text()
        path.write_text(whole.replace("Test cottage", "Mended cottage"))
        second = waited_for(address, "Mended cottage")
        path.write_text(whole.replace('"50 psi"', "50"))
        mistaken = waited_for(address, "to mend in c.toml")
        watching.send_signal(signal.SIGINT)
        status = watching.wait(timeout=60)
        rest = watching.stderr.read().splitlines()
    finally:
        watching.terminate()
        watching.wait(timeout=20)

    assert status == 0
    assert set(rest) == {f"rendered anew: {path}"}
    assert "Test cottage" in first
    assert "Calculation sheet" in second
    assert "50" in mistaken


def waited_for(address: str, words: str) -> str:
    """The page, once it holds some words."""
    until = time.monotonic() + 60.0
    while time.monotonic() < until:
        page = fetched(address)[1].decode()
        if words in page:
            return page
        time.sleep(0.2)
    raise AssertionError(f"{words!r} is not shown")


def test_nothing_is_said_twice_and_every_pipe_has_its_source(tmp_path: Path) -> None:
    """One caution of pump and tank, one note of a full manifold; the drop pipe's standard too."""
    page = unescape(written(tmp_path, SCENARIOS / "orchard-house.toml"))
    sources = page.partition("Sources</h2>")[2]

    assert "Electricity and water" in page
    assert "Electricity and pressure" not in page
    assert page.count("This is an estimate from what the file says") == 1
    assert "no port is spare" in page
    assert "ports are taken" not in page
    assert "ASTM D2737" in sources


def test_printed_sheets_are_numbered(tmp_path: Path) -> None:
    """A page among others is found again by its number and the whole count."""
    page = written(tmp_path, SCENARIOS / "ridge-cottage.toml")

    assert "counter(page)" in page
    assert "counter(pages)" in page


def test_the_page_of_a_farm_on_two_wells(tmp_path: Path) -> None:
    """It speaks of wells and pumps, and says where a size fails that its picture does not show."""
    page = unescape(written(tmp_path, SCENARIOS / "two-wells-farm.toml"))

    assert "Pumps, wells and tanks</h2>" in page
    assert "Wells: do they keep up?" in page
    assert "Not seen here: 1 falls short at trough." in page.replace('<span class="size">', "")
    assert "pump of meadow well: the flow at which all lines end at one pressure" in page


def test_pipe_that_a_tap_is_fed_back_through_is_bought_once(tmp_path: Path) -> None:
    """The line to the tank is new: nobody reads that it is there already."""
    page = unescape(written(tmp_path, SCENARIOS / "two-wells-farm.toml"))

    assert "counted there and bought once" in page
    assert "back from the tank is there" not in page


def test_a_size_whose_line_ends_below_what_is_needed_is_seen_to_fail(tmp_path: Path) -> None:
    """Only where the picture does not show the failure is it told in words."""
    assert "Not seen here" not in written(tmp_path, SCENARIOS / "ranch-on-slab.toml")


def test_a_riser_diagram_is_printed_as_wide_as_the_sheet(tmp_path: Path) -> None:
    """Those of narrow houses too; only plots are printed smaller."""
    for stem in ("ranch-on-slab", "holiday-house"):
        page = written(tmp_path, SCENARIOS / f"{stem}.toml")
        supply = page.partition("The supply</h2>")[2]

        assert supply.partition("<figure")[2].startswith(">")


def test_on_a_phone_a_negative_figure_has_its_unit(tmp_path: Path) -> None:
    """The sheet's minus sign is no hyphen; height gained has psi as every other pressure."""
    page = written(tmp_path, SCENARIOS / "lake-hut.toml")

    assert re.search(r"−10.633<span class=.phone.> kPa</span>", page)


def test_an_open_tanks_lowest_level_above_its_outlet_is_not_called_the_outlet(
    tmp_path: Path,
) -> None:
    """The water leaves the tank a foot below the level down to which it is used."""
    page = written(tmp_path, SCENARIOS / "hill-tank.toml")

    assert "lowest: drawn no lower" in page
