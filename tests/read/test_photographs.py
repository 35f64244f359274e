"""Photographs: paths that stay inside the folder, and whether each is still the picture that was recorded."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from harnessdiff.cli.main import main
from harnessdiff.errors import InputError
from harnessdiff.read.photographs import CHANGED, MISSING, NO_HASH, SAME, evidence_of, leaves_folder, path_faults
from harnessdiff.read.survey import check_survey, read_survey
from tests.support import Json, bench_data, document, reference_from, survey_data

PICTURE = b"\x89PNG not really"
SHA256 = hashlib.sha256(PICTURE).hexdigest()


def entry(path: str = "photos/a.png", **members: Any) -> Json:
    return {"id": "P1", "path": path, **members}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A case folder with one picture."""
    (tmp_path / "case/photos").mkdir(parents=True)
    (tmp_path / "case/photos/a.png").write_bytes(PICTURE)
    return tmp_path / "case"


# -- paths


@pytest.mark.parametrize(
    "path",
    [
        "../a.png", "photos/../../a.png", "photos/..", "..", "/a.png", "//server/a.png", "/etc/passwd", "C:\\a.png",
        "C:/a.png", "c:a.png", "photos\\a.png", "\\\\server\\a.png", "file:///a.png", "http://x/a.png", "a\0.png",
        "a\n.png", "a\x1b[2J.png", "\u202egnp.a", "a\x7f.png",
    ],
)  # fmt: skip
def test_a_path_that_is_none_below_the_folder_is_refused_at_its_place(path: str) -> None:
    ((pointer, message),) = path_faults([entry(), entry(path)])

    assert pointer == "/photographs/1/path"
    assert message.startswith(
        "should be a path below the case folder with forward slashes, such as photos/tap.jpg, not"
    )


@pytest.mark.parametrize(
    "path",
    ["a.png", "photos/a.png", "./a.png", "photos/deep/er/a b.png", "äöü/画.png", "..a.png", "a..png", "a/...", "~/a"],
)
def test_a_path_below_the_folder_is_taken(path: str) -> None:
    assert list(path_faults([entry(path)])) == []


@pytest.mark.parametrize("digest", ["0", "0" * 63, "0" * 65, "g" * 64, "0x" + "0" * 62, " " + "0" * 63, "٠" * 64])
def test_a_hash_that_is_none_is_refused(digest: str) -> None:
    found = list(path_faults([entry(sha256=digest)]))

    assert found == [("/photographs/0/sha256", "a SHA-256 has 64 hexadecimal digits")]


@pytest.mark.parametrize("digest", [SHA256, SHA256.upper()])
def test_a_hash_may_be_written_in_either_case(digest: str, folder: Path) -> None:
    assert list(path_faults([entry(sha256=digest)])) == []
    assert evidence_of(entry(sha256=digest), folder) == (SAME, "")


def test_an_unsafe_path_is_refused_before_any_file_is_looked_for(tmp_path: Path) -> None:
    (tmp_path / "secret.png").write_bytes(PICTURE)
    with pytest.raises(InputError) as caught:
        check_survey(document(survey_data(photographs=[entry("../secret.png", sha256=SHA256)])))

    assert hashlib.sha256(PICTURE).hexdigest() not in str(caught.value)


# -- links


@pytest.mark.parametrize("way", ["the file", "the folder", "a link to a link"])
def test_a_link_that_leads_out_of_the_folder_is_refused(folder: Path, way: str) -> None:
    outside = folder.parent / "outside"
    outside.mkdir()
    (outside / "a.png").write_bytes(PICTURE)
    if way == "the folder":
        (folder / "linked").symlink_to(outside)
        path = "linked/a.png"
    else:
        (folder / "l.png").symlink_to(outside / "a.png")
        (folder / "ll.png").symlink_to("l.png")
        path = "l.png" if way == "the file" else "ll.png"
    survey = folder / "survey.json"
    survey.write_text(json.dumps(survey_data(photographs=[entry(path, sha256=SHA256)]), indent=1), encoding="utf-8")

    assert leaves_folder(entry(path), folder)
    with pytest.raises(InputError) as caught:
        read_survey(survey, reference_from(bench_data()))
    (problem,) = caught.value.problems
    assert problem.pointer == "/photographs/0/path"
    assert problem.message == "a link leads out of the folder of the survey; copy the photograph into it"


def test_a_link_within_the_folder_is_followed_and_so_is_one_that_the_folder_lies_behind(folder: Path) -> None:
    (folder / "b.png").symlink_to("photos/a.png")
    (folder.parent / "case2").symlink_to(folder)

    for place in (folder, folder.parent / "case2"):
        assert not leaves_folder(entry("b.png"), place)
        assert evidence_of(entry("b.png", sha256=SHA256), place) == (SAME, "")


# -- evidence, from the file to what is printed


def test_what_a_look_at_a_file_finds(folder: Path) -> None:
    (folder / "photos/changed.png").write_bytes(PICTURE + b"!")
    (folder / "photos/folder.png").mkdir()

    assert evidence_of(entry(sha256=SHA256), folder) == (SAME, "")
    assert evidence_of(entry("photos/b.png", sha256=SHA256), folder)[0] == MISSING
    assert evidence_of(entry("photos/folder.png", sha256=SHA256), folder)[0] == MISSING
    assert evidence_of(entry("photos/changed.png", sha256=SHA256), folder)[0] == CHANGED
    state, message = evidence_of(entry(), folder)
    assert (state, f'"sha256": "{SHA256}"' in message) == (NO_HASH, True)


STATES: dict[str, Json] = {
    "same": entry(sha256=SHA256),
    "missing": entry("photos/none.png", sha256=SHA256),
    "changed": entry(sha256="0" * 64),
    "no_hash": entry(),
}


@pytest.fixture(params=STATES)
def case(request: pytest.FixtureRequest, folder: Path) -> tuple[str, Path, Path]:
    """A state, a reference, and a survey whose one finding stands on a photograph in that state."""
    tap = {"kind": "tap", "id": "t1", "zone": "Z_TAIL", "on": {"wire": "W12"}, "joint": {"type": "twisted"}}
    data = survey_data(tap | {"photographs": ["P1"]}, photographs=[STATES[request.param]])
    survey, bench = folder / "survey.json", folder / "bench.json"
    survey.write_text(json.dumps(data, indent=1), encoding="utf-8")
    bench.write_text(json.dumps(bench_data()), encoding="utf-8")
    return request.param, bench, survey


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(one) for one in arguments], catch_exceptions=False)


def test_a_photograph_that_is_not_verified_is_a_warning_and_where_asked_for_a_problem(
    case: tuple[str, Path, Path],
) -> None:
    state, bench, survey = case
    plain, strict = run("check", survey, "--reference", bench), run("check", survey, "--reference", bench, "--strict")

    assert plain.exit_code == 0
    if state == "same":
        assert (plain.stderr, strict.exit_code, strict.stderr) == ("", 0, "")
        return
    (warning,), (problem,) = plain.stderr.splitlines(), strict.stderr.splitlines()
    assert warning == f"warning: {problem}"
    assert problem.startswith(f"{survey}:")
    assert ": /photographs/0/path: " in problem
    assert "not verified" in problem
    assert strict.exit_code == 2
    refused = run("compare", bench, survey, "--strict")
    assert (refused.exit_code, "not verified" in refused.stderr) == (2, True)


def test_findings_say_what_was_found_of_their_photographs(case: tuple[str, Path, Path]) -> None:
    state, bench, survey = case
    out = survey.parent / "out"
    result = run("compare", bench, survey, "-o", out)
    findings = json.loads((out / "findings.json").read_text(encoding="utf-8"))
    (finding,) = findings["findings"]

    assert result.exit_code == 1
    assert [one["evidence"] for one in findings["photographs"]] == [state]
    assert finding.get("unverified", []) == ([] if state == "same" else ["P1"])
    assert ("not verified: " in result.stdout) == (state != "same")
    assert run("check", out / "findings.json").exit_code == 0
