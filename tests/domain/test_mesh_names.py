"""The names that shops write are read as the trade means them, and nonsense is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain.errors import NotValid
from framekeeper.domain.mesh_names import read_mesh

# Spellings: common practice, no source. (text, count, unit, thread, colour, unit is a guess)
SPELLINGS = [
    ("230", 230, "inch", None, "", False),
    ("90T", 90, "cm", None, "", False),
    ("90 t", 90, "cm", None, "", False),
    ("120S", 120, "cm", None, "", False),
    ("77HD", 77, "cm", None, "", False),
    ("90-48", 90, "cm", 48, "", False),
    ("90/48", 90, "cm", 48, "", False),
    ("90 – 48", 90, "cm", 48, "", False),
    ("90T-48", 90, "cm", 48, "", False),
    ("90-48µm", 90, "cm", 48, "", False),
    ("90 48 um", 90, "cm", 48, "", False),
    ("90-48 micron white", 90, "cm", 48, "white", False),
    ("230 yellow", 230, "inch", None, "yellow", False),
    ("230Y", 230, "inch", None, "yellow", False),
    ("230 y", 230, "inch", None, "yellow", False),
    ("43-80 W", 43, "cm", 80, "white", False),
    ("305/40 dyed", 305, "inch", 40, "yellow", False),
    ("120-34 PW yellow", 120, "cm", 34, "yellow", False),
    ("156 white", 156, "inch", None, "white", False),
    ("77", 77, "cm", None, "", False),
    ("55 /cm", 55, "cm", None, "", False),
    ("55/cm", 55, "cm", None, "", False),
    ("55 per cm", 55, "cm", None, "", False),
    ("61.4 /cm", 61.4, "cm", None, "", False),
    ("61,4/cm", 61.4, "cm", None, "", False),
    ("110 tpi", 110, "inch", None, "", False),
    ("110 t/in", 110, "inch", None, "", False),
    ("110 threads per inch", 110, "inch", None, "", False),
    ('110"', 110, "inch", None, "", False),
    ("110 tpi-80 white", 110, "inch", 80, "white", False),
    ("mesh 156", 156, "inch", None, "", False),
    ("156 mesh", 156, "inch", None, "", False),
    ("Polyester 62-64 white", 62, "cm", 64, "white", False),
    ("55/140", 55, "cm", None, "", False),
    ("43/110-80 PW", 43, "cm", 80, "", False),
    ("120/305-34 yellow", 120, "cm", 34, "yellow", False),
    ("36/90", 36, "cm", None, "", False),  # 90 may be the thread or the count per inch
    ("380/34", 380, "inch", 34, "", False),
    ("196/55", 196, "inch", 55, "", False),
    ("110/80", 110, "inch", 80, "", False),
    ("15-200", 15, "cm", 200, "", False),
    ("150-34", 150, "cm", 34, "", True),
    ("100/55", 100, "cm", 55, "", True),
    ("110", 110, "inch", None, "", True),
    ("100 white", 100, "inch", None, "white", True),
    ("87", 87, "cm", None, "", True),
    ("172", 172, "inch", None, "", True),
    ("230T", 230, "inch", None, "", True),
    ("  230\tyellow ", 230, "inch", None, "yellow", False),
]


@pytest.mark.parametrize(("text", "count", "unit", "thread", "colour", "guess"), SPELLINGS)
def test_spellings(text, count, unit, thread, colour, guess):
    mesh = read_mesh(text)
    assert (mesh.count_as_bought, mesh.count_unit) == (count, unit)
    assert (mesh.thread_um, mesh.colour, mesh.unit_is_a_guess) == (thread, colour, guess)
    assert mesh.threads_per_cm == pytest.approx(count if unit == "cm" else count / 2.54)
    assert mesh.name == " ".join(text.split())


NONSENSE = [
    "", "   ", "n/a", "?", "-", "abc", "yellow", "T", "0", "1", "-90", "9999", "2.5", "90-48-33",
    "23x31", "2024-05-01", "1/2", "FK0123X", "25 N/cm", "230 purple", "230 white yellow", "90-900",
    "90-5", "480/200", "1200 mm", "100 %", "frame 12", "48um", "230 230", "7" * 400,
    "90 " + "a" * 60 + "!",  # must not take long either
]  # fmt: skip


@pytest.mark.parametrize("text", NONSENSE)
def test_nonsense_is_refused(text):
    with pytest.raises(NotValid, match="No reading of a mesh explains") as caught:
        read_mesh(text)
    assert caught.value.argument == "mesh"
    assert "90-48" in str(caught.value.hint)


def test_what_the_list_says_about_its_counts_wins_where_it_can():
    assert read_mesh("110", count_unit="cm").count_unit == "cm"
    assert not read_mesh("110", count_unit="inch").unit_is_a_guess
    assert read_mesh("77", count_unit="inch").threads_per_cm == pytest.approx(77 / 2.54)
    assert read_mesh("110 tpi", count_unit="cm").count_unit == "inch"
    impossible = read_mesh("305/40", count_unit="cm")
    assert (impossible.count_unit, impossible.unit_is_a_guess) == ("inch", True)


def published_pairs():
    """Count and thread of published cloth.

    Sources: NT, "Screen Specifications" (225 per inch); J. Clarke, Graphics Pro (100, 315 per
    inch); Screen Printing, "Mesh Matters", 2009 (305 per inch); catalogue page of a PET gauze
    43/110-80; "Preventing Screen Damage", 2013 (196, 230, 280, 420 per inch).
    """
    inch = [(225, 40), (225, 48), (225, 54), (315, 30), (305, 40), (196, 48), (196, 55)]
    inch += [(230, 40), (280, 40), (420, 35)]
    return [(count, "inch", thread) for count, thread in inch] + [(43, "cm", 80)]


@pytest.mark.parametrize(("count", "unit", "thread"), published_pairs())
def test_published_pairs_find_their_unit_by_geometry(count, unit, thread):
    mesh = read_mesh(f"{count}/{thread}")
    assert (mesh.count_unit, mesh.thread_um) == (unit, thread)


@given(
    st.text(max_size=30) | st.from_regex(r"[0-9]{1,4}[ /-]?[a-zT]{0,6}[0-9]{0,3}", fullmatch=True)
)
def test_any_text_is_a_possible_cloth_or_refused(text):
    try:
        mesh = read_mesh(text)
    except NotValid:
        return
    assert 4 <= mesh.threads_per_cm <= 200
    if mesh.thread_um is not None:
        assert 10_000 / mesh.threads_per_cm > mesh.thread_um
