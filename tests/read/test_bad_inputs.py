"""Bad inputs through the commands: exit code 2, the file's name, one clear message a problem, and no traceback."""

from __future__ import annotations

import codecs
import json
import os
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from harnessdiff.cli.main import main
from harnessdiff.read import json_text
from tests.support import Json, bench_data, survey_data

TAP: Json = {"kind": "tap", "id": "t1", "zone": "Z_TAIL", "on": {"wire": "W12"}, "joint": {"type": "twisted"}}
TEXT = json.dumps(survey_data(TAP), indent=1)


def of(*lines: Json, **members: Any) -> bytes:
    """A survey with these lines, as bytes."""
    return json.dumps(survey_data(*lines, **members)).encode()


def changed(old: str, new: str) -> bytes:
    """The plain survey with one text in the place of another."""
    assert TEXT.count(old) == 1
    return TEXT.replace(old, new).encode()


# Bytes of a file, and what its one message must say.
BAD: dict[str, tuple[bytes, str]] = {
    # encodings
    "empty": (b"", "is empty"),
    "blanks": (b" \r\n\t ", "is empty"),
    "a mark of UTF-8": (codecs.BOM_UTF8 + TEXT.encode(), "byte-order mark"),
    "UTF-16": (TEXT.encode("utf-16"), "byte-order mark"),
    "UTF-16 without a mark": (TEXT.encode("utf-16-le"), "U+0000 cannot stand here"),
    "UTF-32": (TEXT.encode("utf-32"), "byte-order mark"),
    "Latin-1": (changed("t1", "t\u00e4").decode().encode("latin-1"), "is not UTF-8 from here on"),
    "zeros": (bytes(1000), "U+0000 cannot stand here"),
    "a picture": (b"\x89PNG\r\n\x1a\n" + bytes(100), "is not UTF-8 from here on"),
    "a ZIP archive": (b"PK\x03\x04" + bytes(30), "is it a JSON file?"),
    "a table": (b"wire;colour\nW1;RD\n", "is it a JSON file?"),
    "XML": (b"<?xml version='1.0'?><a/>", "is it a JSON file?"),
    # JSON
    "cut off": (TEXT.encode()[:-1], "the file ends too early"),
    "cut off early": (TEXT.encode()[:1], "the file ends too early"),
    "a comma too many": (TEXT.replace('"twisted"', '"twisted",').encode(), "one too many"),
    "a comma too few": (changed('"version": "1.0",', '"version": "1.0"'), "a comma is missing here"),
    "a comment": (changed('"version"', '// which\n"version"'), "JSON has no comments"),
    "single quotes": (changed('"twisted"', "'twisted'"), "straight double quotes"),
    "a word without quotes": (changed('"twisted"', "twisted"), "in double quotes"),
    "True": (of(TAP, invented=True).replace(b"true", b"True"), "True is written true"),
    "NaN": (of(TAP | {"x_own": float("nan")}), "NaN is not a number"),
    "a number too large": (of(TAP | {"x_own": 1}).replace(b": 1}", b": 1e400}"), "is too large"),
    "a backslash": (changed("V1", "V\\1"), "a backslash in a text is written twice"),
    "a member twice": (changed('"version": "1.0"', '"version": "1.0", "version": "1.0"'), "stands twice"),
    "two documents": (TEXT.encode() * 2, "something follows the end"),
    "half a character": (changed("t1", "\\ud83d"), "half of a two-part character"),
    "too deep": (of(TAP).replace(b'"Z_TAIL"', b"[" * 150 + b"]" * 150), "is nested deeper than 100 levels"),
    "absurdly deep": (b"[" * 200_000, "is nested too deeply"),
    # what it is
    "a list": (b"[]", 'should be an object with the member "format"'),
    "a number": (b"7", 'should be an object with the member "format"'),
    "null": (b"null", 'should be an object with the member "format"'),
    "no format": (b"{}", '/format: the member "format" should be one of'),
    "a format mistyped": (changed("harnessdiff survey", "harnesdiff survey"), 'did you mean "harnessdiff survey"?'),
    "a format of another sort": (changed('"harnessdiff survey"', "1"), '/format: the member "format" should be one of'),
    "no version": (changed('"version": "1.0",', ""), "/version: should be major.minor"),
    "a version as a number": (changed('"1.0"', "1.0"), "/version: should be major.minor"),
    "a newer major": (changed('"1.0"', '"2.0"'), "this program reads version 1"),
    # members
    "no visits": (of(TAP).replace(b'"visits"', b'"x_visits"'), 'the member "visits" is missing'),
    "visits of another sort": (of(TAP, visits={}), "/visits: should be a list"),
    "an empty list of visits": (of(TAP, visits=[]), "/visits: should have at least 1 entry"),
    "no scope": (of(TAP, scope=None), "/scope: should be an object"),
    "a member mistyped": (of(TAP, observatoins=[]), 'did you mean "observations"?'),
    "an unknown kind": (of(TAP | {"kind": "tapp"}), 'did you mean "tap"?'),
    "no kind": (of({"zone": "Z_TAIL"}), 'the member "kind" is missing'),
    "a line that is a text": (of("tap"), "/observations/0: should be an object"),  # type: ignore[arg-type]
    "an unknown word": (changed('"twisted"', '"twistd"'), 'did you mean "twisted"?'),
    "a text where a number is": (of(TAP | {"lead": {"length_m": "0,5"}}), "write 0.5 without quotes"),
    "a unit in quotes": (of(TAP | {"lead": {"length_m": "50 cm"}}), 'write {"exact": 50, "unit": "cm"}'),
    "a unit that is none": (of(TAP | {"lead": {"length_m": {"exact": 1, "unit": "ell"}}}), "none of the words"),
    "a unit that does not fit": (of(TAP | {"lead": {"length_m": {"exact": 1, "unit": "A"}}}), "A is no unit for"),
    "bounds crossed": (of(TAP | {"lead": {"length_m": {"min": 2, "max": 1}}}), "least value 2 is above"),
    "a negative length": (of(TAP | {"lead": {"length_m": -1}}), "length_m is never negative"),
    "a gauge of no wire": (of(TAP | {"lead": {"size_mm2": {"exact": 1e9, "unit": "AWG"}}}), "is too large for"),
    "a colour that is none": (of(TAP | {"lead": {"colour": {"base": "XQ"}}}), "XQ is no colour"),
    "a colour in one word": (of(TAP | {"lead": {"colour": "RD"}}), "/observations/0/lead/colour: should be an object"),
    # sense
    "an id twice": (of(TAP, {"kind": "other", "id": "t1"}), "the id t1 is used already, at /observations/0"),
    "a visit twice": (of(TAP, visits=[{"id": "V1", "when": "2026"}] * 2), "the id V1 is used already, at /visits/0"),
    "an id with a mark": (of(TAP | {"id": "t:1"}), "the id t:1 may not hold"),
    "a date that is none": (of(TAP, visits=[{"id": "V1", "when": "2026-02-30"}]), "is no date"),
    "visits out of order": (
        of(TAP, visits=[{"id": "V1", "when": "2026-03"}, {"id": "V2", "when": "2026-02-27"}]),
        "/visits/1/when: V2 is before V1",
    ),
    "a line before its visit": (of(TAP | {"when": "2025"}), "/observations/0/when: 2025 is before visit V1"),
    "a visit that is not there": (of(TAP | {"visit": "V9"}), "the survey has no visit V9"),
    "a device that is not there": (of(TAP | {"to": {"device": "d9", "pin": "1"}}), "the survey has no device d9"),
    "a photograph that is not there": (of(TAP | {"photographs": ["P9"]}), "the survey has no photograph P9"),
    "a photograph outside": (of(TAP, photographs=[{"id": "P1", "path": "../p.jpg"}]), "should be a path below"),
    "a hash that is none": (of(TAP, photographs=[{"id": "P1", "path": "p", "sha256": "0"}]), "64 hexadecimal digits"),
    "a wire that is not there": (changed("W12", "W122"), 'has no wire W122; did you mean "W12"?'),
    "a zone that is not there": (changed("Z_TAIL", "Z_TALE"), 'has no zone Z_TALE; did you mean "Z_TAIL"?'),
    "another reference": (of(TAP, reference={"id": "bank"}), "was made against bank, and this"),
    "lines beside a whole harness": (
        of(as_found={"devices": [], "wires": []}, observations=[TAP]), "a whole as-found harness, not both"
    ),
}  # fmt: skip


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    path = tmp_path / "bench.json"
    path.write_text(json.dumps(bench_data()), encoding="utf-8")
    return path


def run(*arguments: object) -> Result:
    result = CliRunner().invoke(main, [str(one) for one in arguments])
    assert isinstance(result.exception, (SystemExit, type(None)))
    assert "Traceback" not in result.output
    return result


def lines_of(result: Result, path: Path) -> list[str]:
    """The messages of a command that refused a file: each names it."""
    assert result.exit_code == 2
    assert result.stdout == ""
    lines = result.stderr.removeprefix("error: ").splitlines()
    assert all(line.startswith(f"{path}:") for line in lines)
    return [line.removeprefix(f"{path}:") for line in lines]


def test_there_are_at_least_sixty() -> None:
    assert len(BAD) >= 60


@pytest.mark.parametrize("name", BAD)
@pytest.mark.parametrize("command", ["check", "compare"])
def test_a_bad_survey_is_refused_in_one_message_that_names_it(
    bench: Path, tmp_path: Path, command: str, name: str
) -> None:
    raw, message = BAD[name]
    path = tmp_path / "survey.json"
    path.write_bytes(raw)
    before = sorted(tmp_path.rglob("*"))
    arguments = (
        ["check", path, "--reference", bench]
        if command == "check"
        else ["compare", bench, path, "-o", tmp_path / "out"]
    )
    (line,) = lines_of(run(*arguments), path)

    assert message in line
    assert len(line) < 700
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("name", [name for name, (raw, _) in BAD.items() if b"harnessdiff survey" not in raw])
def test_what_is_no_document_is_no_reference_either(tmp_path: Path, name: str) -> None:
    raw, message = BAD[name]
    path = tmp_path / "reference.json"
    path.write_bytes(raw)
    (line,) = lines_of(run("check", path), path)

    assert message in line


# -- what is no file that can be read


def test_a_folder_a_missing_file_and_a_name_too_long_are_told(bench: Path, tmp_path: Path) -> None:
    for path, message in (
        (tmp_path, "is a folder; name the JSON file in it"),
        (tmp_path / "no.json", "there is no such file"),
        (tmp_path / ("x" * 4000), "cannot be read: File name too long"),
        (bench / "below.json", "cannot be read: Not a directory"),
    ):
        assert lines_of(run("check", path), path) == [f" {message}"]
        assert lines_of(run("compare", bench, path), path) == [f" {message}"]


def test_a_file_that_may_not_be_read_is_told(bench: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "survey.json"
    path.write_text(TEXT, encoding="utf-8")
    read = Path.read_bytes

    def refusing(self: Path) -> bytes:
        if self == path:
            raise PermissionError(13, os.strerror(13), str(self))
        return read(self)

    monkeypatch.setattr(Path, "read_bytes", refusing)

    assert lines_of(run("check", path), path) == [" cannot be read: Permission denied"]
    assert lines_of(run("compare", bench, path), path) == [" cannot be read: Permission denied"]


def test_a_link_that_leads_to_itself_is_told(tmp_path: Path) -> None:
    path = tmp_path / "survey.json"
    path.symlink_to(path)

    (line,) = lines_of(run("check", path), path)
    assert line.startswith(" cannot be read: ")


def test_a_file_over_the_bound_is_told(bench: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "survey.json"
    path.write_text(TEXT + " " * 2**21, encoding="utf-8")
    monkeypatch.setattr(json_text, "GREATEST_BYTES", 2**20)

    assert lines_of(run("check", path), path) == [" is larger than 1 MiB"]
    assert lines_of(run("compare", bench, path), path) == [" is larger than 1 MiB"]


def test_a_reference_where_a_survey_is_wanted_is_told_and_the_other_way_round(bench: Path, tmp_path: Path) -> None:
    path = tmp_path / "survey.json"
    path.write_text(TEXT, encoding="utf-8")

    assert lines_of(run("compare", bench, bench), bench) == [" is a reference, where a survey is wanted"]
    assert lines_of(run("compare", path, path), path) == [" is a survey, where a reference is wanted"]
    assert lines_of(run("check", path, "--reference", path), path) == [" is a survey, where a reference is wanted"]


# -- references


def wire(**members: Any) -> Json:
    return {"id": "W99", "from": "BAT:+", "to": "BODY:1", **members}


BAD_REFERENCES: dict[str, tuple[str, Json, str]] = {
    "an end in the air": ("wires", wire(to="BAT:x"), 'there is no terminal or splice BAT:x; did you mean "BAT:-"?'),
    "no end": ("wires", {"id": "W99", "from": "BAT:+"}, 'the member "to" is missing'),
    "a wire twice": ("wires", wire(id="W1"), "the id W1 is used already, at /wires/0/id"),
    "a wire named as a device": ("wires", wire(id="BAT"), "the id BAT is used already, at /devices/0/id"),
    "a zone": ("wires", wire(zones=["Z_BAYY"]), '/zones/0: there is no zone Z_BAYY; did you mean "Z_BAY"?'),
    "a circuit": ("wires", wire(circuit="C_MIAN"), '/circuit: there is no circuit C_MIAN; did you mean "C_MAIN"?'),
    "an option": ("wires", wire(option=["raido_pack"]), 'no option raido_pack; did you mean "radio_pack"?'),
    "a size in words": ("wires", wire(size_mm2="thin"), '/size_mm2: "thin" fits none of the forms allowed here'),
    "a terminal twice": ("devices", {"id": "D", "kind": "lamp", "terminals": ["1", "1"]}, "1 is there twice"),
    "a seat that is none": ("devices", {"id": "D", "kind": "fuse", "seat": "F99"}, "/seat: there is no slot or"),
    "a lamp in a slot": ("devices", {"id": "D", "kind": "lamp", "seat": "F1"}, "a lamp sits in no slot"),
    "a kind": ("devices", {"id": "D", "kind": "lampp"}, 'did you mean "lamp"?'),
    "a function": ("circuits", {"id": "C", "name": "c", "function": "hron"}, 'did you mean "horn"?'),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD_REFERENCES)
def test_a_bad_entry_of_a_reference_is_told_in_one_message(tmp_path: Path, name: str) -> None:
    member, entry, message = BAD_REFERENCES[name]
    data = bench_data()
    data[member].append(entry)
    path = tmp_path / "bad.json"
    path.write_text(json.dumps(data, indent=1), encoding="utf-8")

    (line,) = lines_of(run("check", path), path)
    assert message in line
    assert f"/{member}/{len(data[member]) - 1}" in line


def test_many_bad_files_are_each_told_and_good_ones_said_to_be_sound(bench: Path, tmp_path: Path) -> None:
    paths = []
    for number, (raw, _) in enumerate(BAD.values()):
        paths.append(tmp_path / f"{number:02}.json")
        paths[-1].write_bytes(raw)
    result = run("check", *paths, bench, "--reference", bench)

    assert result.exit_code == 2
    assert result.stdout == f"{bench}: reference, sound\n"
    assert [Path(line.split(":")[0]) for line in result.stderr.splitlines()] == paths
