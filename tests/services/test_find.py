"""Which frame a person or a scanner means."""

from __future__ import annotations

import pytest

from framekeeper.domain.codes import new_code
from framekeeper.domain.errors import FramekeeperError, NotFound, NotValid
from framekeeper.domain.records import FrameRecord
from framekeeper.services import history, register
from framekeeper.services.desk import Desk
from framekeeper.services.find import find_frame, find_frames, subject_of
from tests.services.shoptalk import bare


def find(desk: Desk, text: str) -> FrameRecord:
    with desk.read() as reader:
        return find_frame(reader, text)


@pytest.mark.parametrize(
    "typed",
    ["FK0001R", "fk0001r", " FK0001R\n", "FK-0001-R", "FK 0001 R", "]Q3FK0001R", "ＦＫ０００１Ｒ"],
)
def test_a_code_is_found_however_it_is_typed_or_scanned(stocked: Desk, typed: str) -> None:
    assert bare(stocked) == "FK0001R"
    assert find(stocked, typed).code == "FK0001R"


@pytest.mark.parametrize("typed", ["A 7", "a 7", "  A 7 "])
def test_a_label_of_the_shops_own_is_found(stocked: Desk, typed: str) -> None:
    code = bare(stocked, label="A 7")
    assert find(stocked, typed).code == code


def test_a_label_that_only_looks_like_a_code_is_found(stocked: Desk) -> None:
    """The shop wrote it on a frame before there were codes; its check character is wrong."""
    code = bare(stocked, label="FK0017X")
    assert find(stocked, "FK0017X").code == code


@pytest.mark.parametrize(
    ("typed", "kind", "said"),
    [
        ("FK0001S", NotValid, "its last character does not match"),
        ("FK0010R", NotValid, "does not match"),
        (new_code(2), NotFound, "answers to"),
        ("left of the door", NotFound, "answers to"),
        ("", NotValid, "No frame was named"),
        ("  ", NotValid, "No frame was named"),
        ("x" * 5000, NotValid, "longer than"),
        ("\x00", NotValid, "cannot be read"),
        ("FK\ud8000001R", NotValid, "cannot be read"),
        ("%", NotFound, "answers to"),
        ("' OR 1=1 --", NotFound, "answers to"),
    ],
)
def test_what_names_no_frame(
    stocked: Desk, typed: str, kind: type[FramekeeperError], said: str
) -> None:
    bare(stocked)
    with pytest.raises(kind, match=said) as refusal:
        find(stocked, typed)
    assert str(refusal.value.hint)


def test_a_frame_whose_registration_was_undone_is_not_found(stocked: Desk) -> None:
    code = bare(stocked, label="A1")
    history.undo(stocked)
    for typed in (code, "A1"):
        with pytest.raises(NotFound):
            find(stocked, typed)


def test_one_frame_that_is_named_twice_counts_once(stocked: Desk) -> None:
    first, second = bare(stocked, label="A1"), bare(stocked)
    with stocked.read() as reader:
        found = find_frames(reader, [first, "a1", second])
        assert [f.code for f in found] == [first, second]
        assert subject_of(found) == "2 frames"
        assert subject_of(found[:1]) == f"{first} (A1)"
        with pytest.raises(NotValid, match="No frame was named"):
            find_frames(reader, [])


def test_a_retired_frame_can_still_be_looked_at(stocked: Desk) -> None:
    from framekeeper.services import marks

    code = bare(stocked)
    marks.retire(stocked, [code], "bent")
    assert find(stocked, code).state.state == "retired"
    register.edit_frame(stocked, code, register.FrameEdit(slot="scrap bin"))
    assert find(stocked, code).slot == "scrap bin"
