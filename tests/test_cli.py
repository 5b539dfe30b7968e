"""A frame walks through its life on the command line; what cannot be is refused in a sentence."""

from __future__ import annotations

import datetime as dt
import json
import shlex
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pypdf
import pytest

from framekeeper.cli.run import main
from framekeeper.services.desk import Desk
from framekeeper.storage.shop import Shop
from tests.fakes import FakeClock

MESH = "90-48 yellow"


@dataclass
class Shell:
    """Types commands into one shop and keeps what was answered."""

    place: str
    clock: FakeClock
    capsys: pytest.CaptureFixture[str]

    def run(self, line: str) -> tuple[int, str, str]:
        """Return the exit code, and what was said on both streams."""
        code = main(["--db", self.place, *shlex.split(line)], clock=self.clock)
        said = self.capsys.readouterr()
        return code, said.out, said.err

    def do(self, line: str) -> str:
        """Run what must succeed."""
        code, out, err = self.run(line)
        assert (code, err) == (0, ""), f"{line}: {err}"
        return out

    def ask(self, line: str) -> object:
        """Run what must answer in JSON."""
        return json.loads(self.do(f"{line} --json"))

    def refuse(self, line: str) -> str:
        """Run what must be refused: exit 1, one line, nothing written."""
        before = self.facts()
        code, out, err = self.run(line)
        assert code == 1, f"{line}: {code} {out}"
        assert err.count("\n") == 1
        assert "Traceback" not in err
        assert self.facts() == before
        return err

    def facts(self) -> tuple[int, dict[str, int]]:
        """Count what is stored."""
        shop = Shop.open(self.place)
        with shop.read() as reader:
            facts = reader.last_operation_id(), reader.counts()
        shop.close()
        return facts

    def state(self, code: str) -> str:
        frame = self.ask(f"show {code}")
        assert isinstance(frame, dict)
        return str(frame["state"])


@pytest.fixture
def shell(sqlite_place: str, clock: FakeClock, capsys: pytest.CaptureFixture[str]) -> Shell:
    return Shell(sqlite_place, clock, capsys)


@pytest.fixture(scope="module")
def stocked_template(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with a mesh, a roll, a meter, one bare frame B1 and one screen S1 found with mesh."""
    path = tmp_path_factory.mktemp("stocked") / "shop.db"
    shutil.copyfile(sqlite_template, path)
    for line in (
        f"mesh add '{MESH}' --target 25 --limit 18",
        f"roll receive --mesh '{MESH}' --length 30m --width 1580mm",
        "meter add Round --resolution 0.5 --correction -0.5",
        "register --size 23x31in --label B1 --slot R1-1",
        f"found --size 584x787mm --label S1 --mesh '{MESH}' --reclaims 4 --since 2025-01-07"
        " --at 2025-01-08",
    ):
        assert main(["--db", str(path), *shlex.split(line)], clock=FakeClock()) == 0
    return path


@pytest.fixture
def stocked(stocked_template: Path, shell: Shell) -> Shell:
    """A copy of that shop, for this test alone."""
    shutil.copyfile(stocked_template, shell.place)
    shell.capsys.readouterr()
    return shell


def test_a_frame_walks_through_its_whole_life(stocked: Shell) -> None:
    """Each step of the trade is one command, and the state follows."""
    stocked.do("prep B1 --step inspect --gap 0.4")
    stocked.do("prep B1 --skip 'old_glue=sound and level'")
    stocked.do("prep B1 --all --note 'new abrasive'")
    assert stocked.state("B1") == "prepped"
    stocked.do(f"stretch B1 --mesh '{MESH}' --roll R0001 --warp-along long")
    stocked.do("stage B1 --tension 20 --rest 10")
    stocked.do("survey B1 27 27 26.5 26,5 26 27")
    stocked.do("glue B1 --cure 20 --adhesive-lot A7")
    assert stocked.state("B1") == "curing"
    stocked.do("release B1")
    stocked.clock.go_on(minutes=30)
    told = stocked.ask("survey B1 --warp 25 24.5 --weft 24 24 --meter Round")
    assert isinstance(told, dict)
    assert told["mean"] == pytest.approx(23.875)  # the meter's correction is in it
    stocked.do("reserve B1 --job posters --needed 2025-03-10")
    stocked.do("free B1")
    stocked.do("image B1 --job posters")
    stocked.do("print B1 --impressions 400 --job posters")
    stocked.do("queue B1")
    stocked.do("reclaim B1 --haze --findings 'faint ghost'")
    stocked.do("inspect B1 --findings none")
    stocked.do("missing B1")
    stocked.do("found-again B1")
    stocked.do("hold B1 --reason 'stencil edge'")
    stocked.do("end-hold B1")
    stocked.do("damage B1 --kind corner_tear --where 'upper left' --mesh-is-done")
    stocked.do("strip B1")
    stocked.do("send-out B1 --to 'the stretcher in town' --back 2025-03-20")
    stocked.do(f"receive B1 --mesh '{MESH}'")
    stocked.do("pull B1 --reason 'too slack'")
    stocked.do("retire B1 --reason 'bent bar'")
    assert stocked.state("B1") == "retired"
    frame = stocked.ask("show B1")
    assert isinstance(frame, dict)
    assert frame["stretches"] == 2
    kinds = [line["kind"] for line in frame["journal"]]
    assert kinds[0] == "retired"
    assert kinds[-1] == "registered"
    assert len(kinds) == 29


def test_roller_frames_are_retensioned(stocked: Shell) -> None:
    stocked.do("register --size 23x31in --kind roller --label T1")
    stocked.do("prep T1 --all")
    stocked.do(f"stretch T1 --mesh '{MESH}' --target 24")
    stocked.do("release T1")
    stocked.do("retension T1 --target 26")
    frame = stocked.ask("show T1")
    assert isinstance(frame, dict)
    assert (frame["state"], frame["target"]) == ("ready", 26.0)


def test_what_happened_earlier_is_dated_in_the_shops_zone(stocked: Shell) -> None:
    """A date alone is noon there, and today is now, so that this morning is not ahead."""
    stocked.clock.where = dt.timezone(dt.timedelta(hours=2))
    stocked.do("register --size 23x31in --label L1 --at 2025-02-01")
    stocked.do("register --size 23x31in --label L2 --on '2025-02-01 07:10'")
    stocked.do("register --size 23x31in --label L3 --at 2025-03-03")
    first = {name: stocked.ask(f"journal {name}")[0]["at"] for name in ("L1", "L2", "L3")}  # type: ignore[index]
    assert first == {
        "L1": "2025-02-01T12:00:00+02:00",
        "L2": "2025-02-01T07:10:00+02:00",
        "L3": "2025-03-03T09:10:00+02:00",
    }


def test_undo_redo_and_corrections(stocked: Shell) -> None:
    """Who did it, what it was and what it should have been all stay in the journal."""
    stocked.do("--by Maren hold S1 --reason dented")
    assert "hold" in stocked.do("undo")
    stocked.do("redo")
    stocked.do("survey S1 22 21 --by Ole")
    assert stocked.ask("people") == ["Maren", "Ole"]
    events = {line["kind"]: line["event"] for line in stocked.ask("journal S1")}  # type: ignore[union-attr]
    stocked.do(f"correct S1 --event {events['surveyed']} --readings 23 22")
    held = next(x for x in stocked.ask("journal S1") if x["kind"] == "held")  # type: ignore[union-attr]
    stocked.do(f"correct S1 --event {held['event']} --set 'reason=bar dented'")
    frame = stocked.ask("show S1")
    assert isinstance(frame, dict)
    assert (frame["tension"], frame["hold"]) == (22.5, "bar dented")
    held = next(x for x in frame["journal"] if x["kind"] == "held" and not x["taken_back"])
    stocked.do(f"correct S1 --event {held['event']} --withdraw")
    assert "taken back" in stocked.do("journal S1")
    assert stocked.ask("show S1")["hold"] is None  # type: ignore[index]


def test_the_shelf_meters_and_settings(stocked: Shell) -> None:
    stocked.do("prep B1 --all")
    stocked.do(f"stretch B1 --mesh '{MESH}' --roll R0001 --cut-length 0.9m --cut-width 690")
    stocked.do("roll scrap R0001 --length 0.1m --reason crease")
    stocked.do("roll count R0001 --length 28.9m --reason counted")
    rolls = stocked.ask("roll list")
    assert rolls == [
        {"code": "R0001", "mesh": MESH, "width_mm": 1580, "on_hand_m": 28.9, "lot": "",
         "supplier": "", "price_per_m": None, "offcut_of": None, "serves": None}
    ]  # fmt: skip
    assert stocked.ask("usage") == [
        {"month": "2025-03", "mesh": MESH, "pieces": 1, "cut_m": 0.9, "scrapped_m": 0.1}
    ]
    stocked.do(f"mesh edit '{MESH}' --limit 17 --thread 48")
    assert stocked.ask("mesh list")[0]["limit"] == 17  # type: ignore[index]
    stocked.do("meter edit Round --correction 0.2 --certificate-until 2026-01-01")
    assert stocked.ask("meter list")[0]["certificate_until"] == "2026-01-01"  # type: ignore[index]
    stocked.do("settings paper=letter cure-minutes=30 shop_name='Harbour Lane Prints'")
    settings = stocked.ask("settings")
    assert isinstance(settings, dict)
    assert (settings["paper"], settings["cure_minutes"]) == ("letter", 30)
    stocked.do("settings working-weekdays='mon tue' holidays=2025-08-04..2025-08-05")
    settings = stocked.ask("settings")
    assert isinstance(settings, dict)
    assert settings["working_weekdays"] == [0, 1]
    assert settings["holidays"] == ["2025-08-04", "2025-08-05"]
    assert "holidays=2025-08-04..2025-08-05" in stocked.do("settings").splitlines()
    stocked.do("edit B1 --slot R2-7 --label B9")
    assert stocked.ask("show B9")["slot"] == "R2-7"  # type: ignore[index]


def test_a_size_without_unit_is_told_as_it_was_read(stocked: Shell) -> None:
    """58 x 78 may have meant cm, so the guess is said; a unit leaves nothing to say."""
    assert "was read as 1473 x 1981 mm" in stocked.do("register --size 58x78")
    assert "was read as" not in stocked.do("register --size 58x78cm")


def test_lists_for_machines(stocked: Shell) -> None:
    """Scripts rely on these names."""
    stocked.do("survey S1 17 17 --at 2025-03-01")
    frames = stocked.ask("frames")
    assert isinstance(frames, list)
    bare, screen = frames
    assert (bare["tension"], bare["mark"]) == (None, None)
    expected = {
        "code": "FK0002P", "own_label": "S1", "state": "ready", "mesh": MESH,
        "size_mm": [584.0, 787.0], "tension": 17.0, "lowest": 17.0, "limit": 18.0,
        "reclaims": 4, "mark": "below",
    }  # fmt: skip
    assert {name: screen[name] for name in expected} == expected
    due = stocked.ask("due")
    assert isinstance(due, list)
    task = {name: due[0][name] for name in ("code", "task", "place", "due", "reason")}
    assert task == {
        "code": "FK0002P",
        "task": "below_limit",
        "place": "rack",
        "due": "2025-03-01T12:00:00+00:00",
        "reason": "tension 17.0 N/cm, limit 18.0",
    }
    assert "tension 17.0 N/cm, limit 18.0" in stocked.do("due")
    assert "S1" in stocked.do("frames")
    assert "S1" in stocked.do("show S1")


def test_a_place_without_a_shop_becomes_an_empty_one(
    tmp_path: Path, clock: FakeClock, capsys: pytest.CaptureFixture[str]
) -> None:
    shell = Shell(str(tmp_path / "new.db"), clock, capsys)
    assert shell.ask("frames") == []
    assert shell.ask("due") == []
    assert shell.do("due") == "Nothing is due.\n"
    assert (tmp_path / "new.db").is_file()


def test_without_a_place_it_is_the_persons_own_shop(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One file in the folder where the system keeps a user's data."""
    monkeypatch.setattr("platformdirs.user_data_path", lambda *_, **__: tmp_path)
    assert main(["frames", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == []
    assert [path.name for path in tmp_path.glob("*.db")] == ["shop.db"]


@pytest.mark.postgres
def test_a_shop_on_a_server_is_named_by_its_address(
    postgres_url: str, clock: FakeClock, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The same commands; only its file cannot be copied from here."""
    shell = Shell(postgres_url, clock, capsys)
    shell.do("register --size 23x31in --label B1")
    assert shell.state("B1") == "bare"
    assert shell.ask("verify") == []
    assert "server" in shell.refuse(f"backup {tmp_path / 'copy.db'}")
    assert "server" in shell.refuse(f"restore {tmp_path / 'copy.db'}")


@pytest.mark.parametrize(
    "line",
    [
        "labels --all",
        "labels S1 B1 --format a4_2x7 --start-cell 3 --offset 0.5 -0.5",
        "tension-sheet S1",
        "due-sheet",
        "round-sheet",
    ],
)
def test_papers_are_written(stocked: Shell, tmp_path: Path, line: str) -> None:
    out = tmp_path / "paper.pdf"
    stocked.do("survey S1 22 21 22 21 22 21 22 21 22 21")
    stocked.do(f"{line} --out {out}")
    text = "".join(page.extract_text() for page in pypdf.PdfReader(out).pages)
    expected = "Nothing is due" if line == "due-sheet" else "FK0002P"
    assert expected in text
    assert [path.name for path in tmp_path.iterdir() if "partial" in path.name] == []


REFUSED = {
    "survey FK0002Q 22 21": "at least one character was misread",
    "survey S1 -3 21": "-3.0 N/cm cannot be",
    "survey S1 60.5 21": "more than a tension meter can show",
    "survey S1 nan 21": "is not a number",
    "survey S1 22 21 20": "warp and weft at each point",
    "survey S1": "no reading",
    "survey S1 22 21 --warp 20": "told twice",
    "survey S1 22 21 --at 2025-03-04": "in the future",
    "survey S1 22 21 --at 03.03.2025": "is not a date",
    "hold S1 --reason x --at '0001-01-01 00:30'": "The year of 0001-01-01",
    "hold S1 --reason x --at '2025-01-01 10:00+05:00'": "is not a date and time",
    "print S1 --impressions 99999999999999999999": "is not a whole number",
    "print S1 --impressions 1,5": "is not a whole number",
    "survey S1 22 21 --meter Unknown": "no meter named",
    "survey S1 22 21 --moment in_clamps": "not in the clamps any more",
    "survey B1 22 21": "bare and cannot be surveyed",
    "stretch B1 --mesh '90-48 yellow'": "Finish its prep first",
    "reclaim B1": "bare and cannot be reclaimed",
    "found --size 23x31in --mesh banana": "no mesh named",
    "found --size 23x31in --mesh '90-48 yellow' --since 2025-04-01": "in the future",
    "mesh add 'banana weave' --target 20": "No reading of a mesh explains",
    "mesh add 230 --target 20 --limit 22": "not below the target",
    "register --size 23x31in --label S1": "carries the label",
    "register --size 23x31in --count 0": "cannot be",
    "register --size 5mmx5mm": "cannot be right",
    "register --size 23x31in --count 3 --label X": "one for each",
    "prep B1": "No single step",
    "prep B1 --skip polish=because": "no prep step named",
    "prep B1 --step degrease": "before",
    "roll receive --mesh '90-48 yellow' --length 30parsec --width 1580": "not a length",
    "roll scrap R0001 --length 99m --reason x": "holds only",
    "hold S1 --reason ' '": "needs a reason",
    "settings paper=foolscap": "one of a4, letter",
    "settings colour=blue": "no setting",
    "settings working-weekdays=": "at least one day of the week",
    "settings holidays=someday": "not a date",
    "correct S1 --event 999 --withdraw": "no such entry",
    "correct S1 --event 2": "Nothing was said",
    "correct S1 --event 2 --set reclaims_so_far=-1": "below zero",
    "correct S1 --event 2 --set mesh_type_id=7": "cannot be set",
    "correct S1 --event 2 --set kind=registered": "cannot be set",
    "show FK0002": "No frame in this shop",
    "labels --out x.pdf": "Give codes, or --all",
    "labels S1 --format a9 --out x.pdf": "no label format",
    "labels S1 --out /nowhere/x.pdf": "cannot be written",
    "labels S1 --out .": "is a folder",
    "export /": "is a folder",
    "redo": "nothing to redo",
}  # fmt: skip


@pytest.mark.parametrize("line", REFUSED)
def test_what_cannot_be_is_refused_in_one_sentence(stocked: Shell, line: str) -> None:
    """Exit 1, one line that says why, nothing written, no traceback."""
    assert REFUSED[line] in stocked.refuse(line)


def test_pictures_go_into_no_folder_that_cannot_be(shell: Shell, tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    code, out, err = shell.run(f"pictures {tmp_path / 'file' / 'x'}")
    assert (code, out) == (1, "")
    assert "cannot take the pictures: Not a directory" in err


def test_a_survey_tells_its_verdict_to_people_and_to_machines(stocked: Shell) -> None:
    """The same words as in the window; one number alone has none, and says why."""
    said = stocked.do("survey S1 12 12 12 12 12 12 12 12 12 12")
    assert ": outside." in said
    assert "below the limit of" in said
    assert "The meter was not told" in said
    assert "verdict: outside" in stocked.do("show S1")
    told = stocked.ask("survey S1 30 30 30 30 30 30 30 30 30 30 --meter Round")
    assert isinstance(told, dict)
    assert (told["verdict"], told["assumed"]) == ("inside", None)
    assert told["u_mean"] > 0
    alone = stocked.ask("survey S1 22")
    assert isinstance(alone, dict)
    assert (alone["verdict"], alone["u_mean"]) == (None, None)
    assert alone["reasons"] == ["One number alone cannot show whether a screen is even."]


def test_an_earlier_survey_is_judged_for_itself(stocked: Shell) -> None:
    """A reading entered late tells its own verdict, not that of the newest one."""
    stocked.do("survey S1 30 30 30 30 --at 2025-03-02")
    told = stocked.ask("survey S1 10 10 10 10 --at 2025-03-01")
    assert isinstance(told, dict)
    assert told["verdict"] == "outside"


def test_mesh_from_the_book_with_its_data_sheet(stocked: Shell) -> None:
    """The book lists grades; what a data sheet says is kept and changed by name."""
    listed = stocked.ask("mesh book 230 48")
    assert isinstance(listed, list)
    assert [row["name"] for row in listed] == ["90-48", "230/48"]
    assert [row["opening"] for row in listed] == ["published", "estimated"]
    assert "derived from published tensions" in stocked.do("mesh book 230 48")
    stocked.do("mesh add 190-31 --weave 2:2 --opening 22 --thickness 49")
    stocked.do("mesh edit 190-31 --thickness 50")
    meshes = stocked.ask("mesh list")
    assert isinstance(meshes, list)
    row = next(row for row in meshes if row["name"] == "190-31")
    assert (row["weave"], row["opening_um"], row["thickness_um"]) == ("2:2", 22, 50)


@pytest.mark.parametrize("line", ["polish S1", "survey", "mesh", "prep B1 --step polish", "--nope"])
def test_wrong_usage_ends_with_2(shell: Shell, line: str) -> None:
    code, out, err = shell.run(line)
    assert (code, out) == (2, "")
    assert "usage:" in err


@pytest.mark.parametrize(
    "place", ["foo://x", "mysql://u:secret@h/x", "postgresql://u:secret@h:a/x"]
)
def test_an_address_of_no_shop_is_refused_without_its_password(
    place: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--db", place, "frames"]) == 1
    err = capsys.readouterr().err
    assert "no address of a shop" in err
    assert "secret" not in err


# files


def register(path: Path, *rows: str) -> Path:
    head = "Frame;Size;Mesh;Stretched;Read on;Warp;Weft"
    path.write_text("\n".join((head, *rows)), encoding="utf-8")
    return path


GOOD = "7;23x31in;90-48;2025-01-02;2025-02-03;22,5;21,5"


def test_import_takes_a_register_and_one_undo_takes_it_back(shell: Shell, tmp_path: Path) -> None:
    told = shell.ask(f"import {register(tmp_path / 'r.csv', GOOD)}")
    assert isinstance(told, dict)
    assert {k: told[k] for k in ("frames", "surveys", "mesh_types", "problems")} == {
        "frames": 1, "surveys": 1, "mesh_types": ["90-48"], "problems": [],
    }  # fmt: skip
    assert shell.ask("frames")[0]["tension"] == 22.0  # type: ignore[index]
    assert shell.ask("mesh list")[0]["to_be_completed"] is True  # type: ignore[index]
    shell.do("undo")
    assert shell.ask("frames") == []


def _sparse(path: Path) -> Path:
    with path.open("wb") as file:
        file.truncate(2 * 1024**3)
    return path


BAD_FILES: dict[str, tuple[Callable[[Path], Path], str]] = {
    "no mesh": (lambda p: register(p, "7;23x31;banana weave;;;;"), "No reading of a mesh"),
    "negative": (
        lambda p: register(p, "7;23x31;90-48;;2025-02-03;-3;21"),
        "A tension lies above 0 and up to 60 N/cm",
    ),
    "above 60": (
        lambda p: register(p, "7;23x31;90-48;;2025-02-03;60,5;21"),
        "A tension lies above 0 and up to 60 N/cm",
    ),
    "future": (lambda p: register(p, "7;23x31;90-48;;2031-02-03;22;21"), "in the future"),
    "older than the mesh": (
        lambda p: register(p, "7;23x31;90-48;2025-02-04;2025-02-03;22;21"),
        "older than the mesh",
    ),
    "2 GB": (_sparse, "MiB"),
    "binary": (lambda p: p.write_bytes(bytes(range(256)) * 40) and p, "neither text nor"),
    "empty": (lambda p: p.write_bytes(b"") or p, "empty"),
    "absent": (lambda p: p, "no file"),
    "folder": (lambda p: p.mkdir() or p, "folder"),
}


@pytest.mark.parametrize("kind", BAD_FILES)
def test_a_file_that_cannot_be_taken_is_refused(shell: Shell, tmp_path: Path, kind: str) -> None:
    """Exit 1, one sentence on stderr that says why, nothing written."""
    make, expected = BAD_FILES[kind]
    assert expected in shell.refuse(f"import {make(tmp_path / 'file.csv')}")


def test_partial_takes_the_good_rows_and_lists_the_others(shell: Shell, tmp_path: Path) -> None:
    path = register(tmp_path / "r.csv", GOOD, "8;23x31in;banana;;;;", "9;;90-48;;;;")
    code, out, err = shell.run(f"import {path}")
    assert code == 1
    assert "row 3" in out
    assert "row 4" in out
    assert "banana" in err
    told = shell.ask(f"import {path} --partial")
    assert isinstance(told, dict)
    assert told["frames"] == 1
    assert [(p["row"], p["value"]) for p in told["problems"]] == [(3, "banana"), (4, "9")]
    assert len(shell.ask("frames")) == 1  # type: ignore[arg-type]


def test_keeping_what_was_entered(stocked: Shell, tmp_path: Path) -> None:
    """Verify, backup, restore, export and import carry the same frames."""
    frames = stocked.ask("frames")
    assert stocked.ask("verify") == []
    stocked.do(f"backup {tmp_path / 'copy.db'}")
    stocked.do(f"export {tmp_path / 'all.json'}")
    stocked.do("retire S1 --reason old")
    stocked.do(f"restore {tmp_path / 'copy.db'}")
    assert stocked.ask("frames") == frames
    other = Shell(str(tmp_path / "other.db"), stocked.clock, stocked.capsys)
    other.do(f"import {tmp_path / 'all.json'}")
    assert other.ask("frames") == frames


def test_verify_tells_what_is_wrong(stocked: Shell) -> None:
    import sqlite3

    with sqlite3.connect(stocked.place) as connection:
        connection.execute("UPDATE frame SET reclaims = 99 WHERE own_label = 'S1'")
    connection.close()
    code, out, err = stocked.run("verify")
    assert code == 1
    assert "FK0002P" in out
    assert "restore a backup" in err


def test_the_demo_is_a_copy_that_is_put_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is done in the demo stays in its copy, and the copy goes away with the command."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "cache"))
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    assert main(["--demo", "frames", "--json"]) == 0
    frames = json.loads(capsys.readouterr().out)
    assert len(frames) > 100
    assert main(["--demo", "retire", frames[0]["code"], "--reason", "only here"]) == 0
    capsys.readouterr()
    assert main(["--demo", "frames", "--json"]) == 0
    assert [f["code"] for f in json.loads(capsys.readouterr().out)] == [f["code"] for f in frames]
    assert list(tmp_path.glob("framekeeper-demo-*")) == []


def test_help_and_version_start_without_anything_heavy() -> None:
    """Asking for help costs no database and no window."""
    for words in (["--help"], ["--version"], ["stretch", "--help"]):
        script = (
            "import sys\n"
            "from framekeeper.__main__ import main\n"
            f"sys.argv[1:] = {words!r}\n"
            "code = main()\n"
            "heavy = {'sqlalchemy', 'PySide6', 'reportlab', 'numpy', 'scipy', 'alembic'}\n"
            "assert code == 0, code\n"
            "assert not heavy & set(sys.modules), heavy & set(sys.modules)\n"
        )
        done = subprocess.run(
            [sys.executable, "-c", script], capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr


def test_the_program_itself_refuses_with_exit_code_1(sqlite_place: str) -> None:
    """What `main` returns is what the process ends with."""
    done = subprocess.run(
        [sys.executable, "-m", "framekeeper", "--db", sqlite_place, "show", "FK0001R"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.count("\n") == 1


def test_a_person_at_the_desk_and_the_command_line_share_a_shop(stocked: Shell) -> None:
    """The command line works beside an open window."""
    shop = Shop.open(stocked.place)
    desk = Desk(shop, stocked.clock, "Maren")
    with desk.read() as reader:
        before = reader.last_operation_id()
    stocked.do("hold S1 --reason 'look at it'")
    with desk.read() as reader:
        assert reader.last_operation_id() == before + 1
    shop.close()


def test_papers_are_written_into_a_folder(shell: Shell, tmp_path: Path) -> None:
    """An empty shop has only its due list; a folder that is not there is refused."""
    assert shell.run(f"papers {tmp_path}")[0] == 0
    assert (tmp_path / "due.txt").read_text() == "Nothing is due.\n"
    assert not (tmp_path / "labels.pdf").exists()
    code, _, err = shell.run(f"papers {tmp_path / 'nowhere'}")
    assert (code, "does not exist" in err) == (1, True)


def test_papers_of_the_demo_are_all_there(
    demo_template: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The due list, labels of every frame, and the sheet of a frame that was read."""
    shop = tmp_path / "demo.db"
    shop.write_bytes(demo_template.read_bytes())
    assert main(["--db", str(shop), "papers", str(tmp_path)]) == 0
    assert "Tension round" in (tmp_path / "due.txt").read_text()
    for name in ("labels.pdf", "tension-sheet.pdf"):
        assert (tmp_path / name).read_bytes().startswith(b"%PDF")
    assert capsys.readouterr().out.count("Written: ") == 3
