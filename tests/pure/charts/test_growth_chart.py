"""Charts as drawn: form, bytes, places, tones, and no word on another."""

import datetime as dt
import itertools
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from species.charts.data import DayRange, FindingMark, GrowthChart, MarkState, MilestoneMark, Point, StageSpan
from species.charts.growth import curve_chart, growth_chart
from tests.pure.charts.birds import KEYS, bird_of, curve_of
from tests.pure.charts.reading import circles, colours, corners, of_class, parsed, texts, view_box

PIGEON = "columba-livia"


def plateau_only():
    points = tuple(Point(age_days=200.0 + i, mass_g=300.0 + i % 7, label=f"{300 + i % 7} g") for i in range(20))
    return GrowthChart(title="Grown", points=points, hatched_on=dt.date(2026, 9, 1))


def all_at_one_place():
    points = tuple(Point(age_days=9.0, mass_g=118.0, label="118.0 g") for _ in range(12))
    findings = tuple(FindingMark(age_days=9.0, mass_g=118.0, code="no_gain", text=f"Finding {i}.") for i in range(12))
    return bird_of(PIGEON, points=points, findings=findings)


def axes_from_a_tick():
    """Weighed on days 105 to 200 at 210 to 305 g: the first ticks of both axes are written at their corner."""
    points = tuple(Point(age_days=105.0 + 5 * i, mass_g=210.0 + 5 * i) for i in range(20))
    return GrowthChart(title="Grown", points=points)


def many_words():
    return bird_of(
        PIGEON,
        title="A very long title of a chart " * 12,
        subtitle="Unbrokenlettersofalongidentifier" * 9,
        milestones=tuple(MilestoneMark(name=f"a step of development, number {i}", day=i / 3) for i in range(60)),
        stages=tuple(StageSpan(name=f"stage {i} of a fine division", from_day=i, to_day=i + 1) for i in range(26)),
        weaning=DayRange(low_day=0.0, high_day=300.0),
    )


CASES = {
    **{f"bird of {key}": lambda key=key: bird_of(key) for key in KEYS},
    **{f"curve of {key}": lambda key=key: curve_of(key).without_bird() for key in KEYS},
    "400 weighings": lambda: bird_of(PIGEON, count=400),
    "one weighing": lambda: bird_of(PIGEON, ages=[9.0]),
    "one weighing, nothing else": lambda: GrowthChart(title="", points=(Point(age_days=3.0, mass_g=8.0),)),
    "weighed on the morning of the hatch day": lambda: bird_of(PIGEON, ages=[-0.2, 1.0, 2.0]),
    "no weighing": lambda: bird_of(PIGEON, points=(), findings=(), own_line=None, forecast=None),
    "all at one place": all_at_one_place,
    "far above": lambda: bird_of(PIGEON, size=6.0),
    "far below": lambda: bird_of(PIGEON, size=0.1),
    "long after fledging": lambda: bird_of(PIGEON, ages=[200.0 + 8 * i for i in range(25)]),
    "ten years": lambda: bird_of(PIGEON, ages=[3650.0 + i for i in range(8)]),
    "plateau only": plateau_only,
    "many words": many_words,
    "axes that begin at a tick, not at zero": axes_from_a_tick,
    "only a rejected one": lambda: GrowthChart(
        title="R", points=(Point(age_days=1.0, mass_g=9.0, state=MarkState.REJECTED),)
    ),
}
EVERY_CASE = pytest.mark.parametrize("case", CASES.values(), ids=CASES)
LAYOUTS = pytest.mark.parametrize("compact", [False, True], ids=["full", "compact"])


@EVERY_CASE
@LAYOUTS
def test_no_word_lies_on_another_or_leaves_the_page(case, compact):
    root = parsed(growth_chart(case(), compact=compact))
    _, _, wide, high = view_box(root)
    written = texts(root)
    assert len(written) > 5
    outside = [one for one in written if one.left < 0 or one.top < 0 or one.right > wide or one.bottom > high]
    assert outside == []
    assert [(a.words, b.words) for a, b in itertools.combinations(written, 2) if a.meets(b)] == []


@EVERY_CASE
@LAYOUTS
def test_prints_in_grey(case, compact):
    found = colours(growth_chart(case(), compact=compact))
    assert len(found) >= 3
    for colour in found:
        assert len(colour) == 7
        assert colour[1:3] == colour[3:5] == colour[5:7]
    assert not {"red", "rgb(", "hsl(", "currentColor"} & set(growth_chart(case(), compact=compact).split('"'))


@EVERY_CASE
@LAYOUTS
def test_every_mark_is_in_view(case, compact):
    chart = case()
    root = parsed(growth_chart(chart, compact=compact))
    _, _, wide, high = view_box(root)
    for path in root.iter("{http://www.w3.org/2000/svg}path"):
        if path.get("clip-path") is None and not path.get("d").startswith("M0 6L6 0"):
            assert all(-1 <= x <= wide + 1 and -1 <= y <= high + 1 for x, y in corners(path.get("d")))
    assert all(0 <= x <= wide and 0 <= y <= high for x, y, *_ in circles(root))


@LAYOUTS
def test_same_chart_same_bytes_in_another_process(compact):
    code = (
        "import sys; from tests.pure.charts.birds import bird_of; from species.charts.growth import growth_chart; "
        f"sys.stdout.write(growth_chart(bird_of({PIGEON!r}), compact={compact}))"
    )
    environment = {"PYTHONHASHSEED": "7", "PYTHONIOENCODING": "utf-8", "PYTHONPATH": ":".join(sys.path)}
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, env=environment).stdout
    assert told == growth_chart(bird_of(PIGEON), compact=compact).encode()


def test_readable_without_eyes():
    root = parsed(growth_chart(bird_of(PIGEON)))
    title, desc = root[0], root[1]
    assert (root.get("role"), root.get("aria-labelledby")) == ("img", f"{title.get('id')} {desc.get('id')}")
    assert title.text == "Growth – Rock pigeon (Columba livia), bird K-14"
    for words in (
        "14 weighings",
        "1 questioned and 1 rejected",
        "It lost weight",
        "97th 377 g",
        "Fledging: days 31–36.",
    ):
        assert words in desc.text
    assert root.get("width") is None
    assert root.get("height") is None


@LAYOUTS
def test_marks_stand_where_the_ticks_say(compact):
    """Places worked out again from the labels at the axes."""
    chart = bird_of(PIGEON, stages=(), milestones=(), fledging=None, weaning=None, findings=(), title="", subtitle="")
    root = parsed(growth_chart(chart, compact=compact))
    plain = [node for node in root.iter("{http://www.w3.org/2000/svg}text") if (node.text or "").isdigit()]
    size = max(float(node.get("font-size")) for node in plain)
    along = {float(n.text): float(n.get("x")) for n in plain if n.get("text-anchor") == "middle"}
    up = {
        float(n.text): float(n.get("y"))
        for n in plain
        if n.get("text-anchor") == "end" and float(n.get("font-size")) == size
    }
    day_units = (along[20] - along[0]) / 20
    gram_units = (up[300] - up[0]) / 300
    base = of_class(root, "c50")
    # The label of 0 g stands as far under its line as every label does: read it off the axis' own corner.
    floor = max(y for path in root.iter("{http://www.w3.org/2000/svg}path") if path.get("stroke") == "#bdbdbd"
                for _, y in corners(path.get("d")))  # fmt: skip
    seen = {(round(x, 1), round(y, 1)) for x, y, *_ in circles(root)}
    for point in chart.points:
        if point.state is not MarkState.REJECTED:
            place = (along[0] + day_units * point.age_days, floor + gram_units * point.mass_g)
            assert any(abs(place[0] - x) < 0.15 and abs(place[1] - y) < 0.15 for x, y in seen), place
    for (x, y), day, mass in zip(base, chart.bands.days, chart.bands.c50_g, strict=True):
        assert x == pytest.approx(along[0] + day_units * day, abs=0.1)
        assert y == pytest.approx(floor + gram_units * mass, abs=0.1)


@pytest.mark.parametrize("key", KEYS)
def test_bands_lie_one_above_the_other_and_the_widest_is_drawn_first(key):
    svg = growth_chart(bird_of(key))
    root = parsed(svg)
    lines = [of_class(root, name) for name in ("c97", "c85", "c50", "c15", "c3")]
    for above, below in itertools.pairwise(lines):
        assert all(upper[1] <= lower[1] for upper, lower in zip(above, below, strict=True))
    order = ["band-3-97", "band-15-85", 'class="c50"', "own-interval", 'class="own"']
    # The legend has marks too, drawn before; the last mark of all is one of the bird's.
    places = [*(svg.index(name) for name in order), svg.rindex("<circle")]
    assert places == sorted(places)
    tones = {p.get("class"): p.get("fill") for p in root.iter("{http://www.w3.org/2000/svg}path") if p.get("class")}
    assert int(tones["band-3-97"][1:3], 16) - int(tones["band-15-85"][1:3], 16) >= 25
    widths = {
        p.get("class"): float(p.get("stroke-width"))
        for p in root.iter("{http://www.w3.org/2000/svg}path")
        if p.get("class") and p.get("stroke-width")
    }
    assert widths["own"] >= 2 * max(widths[name] for name in ("c3", "c15", "c50", "c85", "c97"))


def test_states_have_marks_of_their_own():
    points = tuple(Point(age_days=2.0 + 5 * i, mass_g=100.0, state=state) for i, state in enumerate(MarkState))
    root = parsed(growth_chart(bird_of(PIGEON, points=points, own_line=None, forecast=None, findings=())))
    legend = {one.words for one in texts(root)}
    assert {"weighing", "questioned", "rejected, not used"} <= legend
    # In the plot and once more in the legend: two filled (accepted, confirmed), one open; a rejected one is a cross.
    fills = sorted(fill for _, _, fill, _ in circles(root))
    assert fills == ["#1a1a1a"] * 3 + ["#ffffff"] * 2


def test_a_slip_of_the_decimal_point_does_not_flatten_the_rest():
    sound = parsed(growth_chart(bird_of(PIGEON, points=(), findings=(), own_line=None, forecast=None)))
    slip = Point(age_days=20.0, mass_g=2900.0, state=MarkState.QUESTIONED)
    with_slip = parsed(growth_chart(bird_of(PIGEON, points=(slip,), findings=(), own_line=None, forecast=None)))

    def share(root):
        ys = [y for _, y in of_class(root, "c97")]
        return (max(ys) - min(ys)) / view_box(root)[3]

    assert share(with_slip) > 0.9 * share(sound)
    assert "2900 g, questioned" in {one.words for one in texts(with_slip)}


@LAYOUTS
@pytest.mark.parametrize("case", [lambda: bird_of(PIGEON), all_at_one_place], ids=["a bird", "twelve at one weighing"])
def test_every_finding_has_its_number_and_its_words(case, compact):
    chart = case()
    root = parsed(growth_chart(chart, compact=compact))
    words = " ".join(one.words for one in texts(root))
    numbers = [one.words for one in texts(root)]
    for sign, finding in enumerate(chart.findings, start=1):
        assert numbers.count(str(sign)) >= 2
        assert finding.text.split()[-1] in words
    assert [code for *_, code in circles(root) if code] == [finding.code for finding in chart.findings]


def test_dates_stand_under_days():
    words = {one.words for one in texts(parsed(growth_chart(bird_of(PIGEON))))}
    # Common practice, no source: hatch day is day 0, so day 10 of a bird hatched on 23 April is 3 May.
    assert {"23 Apr", "3 May", "days since hatching (hatched 23 Apr 2027)"} <= words


def test_page_has_the_proportions_of_a5():
    """ISO 216: 210 mm by 148 mm."""
    _, _, wide, high = view_box(parsed(curve_chart(curve_of("tyto-alba"))))
    assert wide / high == pytest.approx(210 / 148, rel=0.005)


def test_letters_on_a_phone_are_large_enough():
    """360 units for 360 pixels; 11 px is common practice, no source."""
    root = parsed(growth_chart(bird_of(PIGEON), compact=True))
    assert view_box(root)[2] == 360
    sizes = [float(node.get("font-size")) for node in root.iter("{http://www.w3.org/2000/svg}text")]
    # Numbers in rings are bold, and a little smaller than the words they stand before.
    assert min(sizes) > 9
    assert sorted(sizes)[len(sizes) // 2] >= 11


HOSTILE = [
    "</text><script>alert(1)</script>",
    '"><image href="x" onerror="alert(1)"/>',
    "]]> &amp; &lt; & < > ' \"",
    "nul \x00 bell \x07 escape \x1b",
    "turned \u202e round",
    "half a pair \ud800",
    "line\nbreak\ttab",
]


@pytest.mark.parametrize("words", HOSTILE, ids=ascii)
@LAYOUTS
def test_hostile_words_stay_words(words, compact):
    chart = GrowthChart(
        title=words,
        subtitle=words,
        points=(Point(age_days=5.0, mass_g=40.0, label=words), Point(age_days=9.0, mass_g=90.0, label=words)),
        findings=(FindingMark(age_days=5.0, mass_g=40.0, code=words, text=words),),
        stages=(StageSpan(name=words, from_day=0.0, to_day=1.0), StageSpan(name=words, from_day=1.0)),
        milestones=(MilestoneMark(name=words, day=4.0),),
    )
    svg = growth_chart(chart, compact=compact)
    root = parsed(svg.encode())
    known = {"svg", "title", "desc", "defs", "pattern", "clipPath", "rect", "path", "text", "circle"}
    assert {node.tag.rpartition("}")[2] for node in root.iter()} <= known
    assert not [name for node in root.iter() for name in node.attrib if name.startswith("on") or "href" in name]
    assert "\u202e" not in svg


LABEL = st.text(max_size=40)


@settings(max_examples=60, deadline=None)
@given(
    title=LABEL,
    points=st.lists(
        st.builds(
            Point,
            age_days=st.floats(-1, 400),
            mass_g=st.floats(0.5, 5000),
            state=st.sampled_from(MarkState),
            label=LABEL,
        ),
        min_size=1,
        max_size=30,
    ),
    texts_of_findings=st.lists(LABEL, max_size=5),
    compact=st.booleans(),
)
def test_any_bird_can_be_drawn(title, points, texts_of_findings, compact):
    findings = tuple(
        FindingMark(age_days=points[0].age_days, mass_g=points[0].mass_g, code="no_gain", text=text)
        for text in texts_of_findings
    )
    svg = growth_chart(GrowthChart(title=title, points=tuple(points), findings=findings), compact=compact)
    root = parsed(svg.encode())
    _, _, wide, high = view_box(root)
    assert "nan" not in svg.replace(title, "").lower().split('"')
    assert all(0 <= x <= wide and 0 <= y <= high for x, y, *_ in circles(root))
