"""Words: widths against a font's own table, breaking, cutting, what cannot be printed."""

import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from species.charts import lettering
from species.charts.svg import element, escaped, number
from tests.pure.charts.reading import WIDTHS


@pytest.mark.parametrize("letter", sorted(WIDTHS), ids=ascii)
def test_no_letter_is_wider_than_the_room_kept_for_it(letter):
    """Liberation Sans 2.1, hmtx."""
    assert lettering.width(letter, 1000) >= WIDTHS[letter] - 1e-6


def test_accents_take_no_room_of_their_own():
    assert lettering.width("Crécerelle", 10) == lettering.width("Crecerelle", 10)


WORDS = st.text(alphabet=st.characters(categories=["L", "N", "P", "Zs"]), max_size=80)


@given(words=WORDS, room=st.floats(20, 300), size=st.floats(8, 20), most=st.none() | st.integers(1, 3))
def test_broken_lines_fit(words, room, size, most):
    lines = lettering.broken(words, room, size, most=most)
    assert all(lettering.width(line, size) <= room for line in lines)
    assert most is None or len(lines) <= most


def test_what_fits_is_not_touched():
    assert lettering.broken("Feathers out of their sheaths", 1000, 12) == ["Feathers out of their sheaths"]
    assert lettering.cut("Pin feathers", 1000, 12) == "Pin feathers"
    assert lettering.cut("Pin feathers", 40, 12).endswith("…")


@given(words=st.text(max_size=60))
def test_any_words_become_well_formed_text(words):
    told = lettering.printable(words)
    node = ET.fromstring(element("text", {"data_words": told}, escaped(told)).encode())
    assert (node.text or "") == told
    assert "\n" not in told


@pytest.mark.parametrize(
    ("value", "told"), [(0.0, "0"), (-0.001, "0"), (1.5, "1.5"), (12.345, "12.35"), (300.0, "300"), (1e6, "1000000")]
)
def test_numbers_have_no_exponent_and_no_needless_digits(value, told):
    assert number(value) == told


@pytest.mark.parametrize(
    ("low", "high", "told"),
    [(4.0, 4.0, "day 4"), (4.0, 6.5, "days 4–6.5"), (14.0, None, "from day 14"), (-0.01, -0.01, "day 0")],
)
def test_days_in_words(low, high, told):
    assert lettering.days(low, high) == told
