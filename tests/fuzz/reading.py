"""Feeds damaged files to the reader: whatever comes, the answer is a document or a message, never a traceback.

Run as ``python tests/fuzz/reading.py [inputs] [--seed N] [--minutes N] [--save FOLDER]``. Not a test: how much it finds
is a matter of how long it runs. Where `atheris` is installed, ``--atheris`` lets coverage lead the mutator.
Every input is read; what is sound is assessed, too, unless ``--shallow`` asks for many more inputs to the reader alone.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib
import json
import os
import random
import re
import sys
import tempfile
import time
import traceback
from collections import Counter
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from harnessdiff.errors import HarnessDiffError  # noqa: E402 - the path has to be set first
from harnessdiff.pipeline import assess  # noqa: E402
from harnessdiff.read.document import checked, format_of  # noqa: E402
from harnessdiff.read.json_text import parse_document  # noqa: E402
from harnessdiff.read.reference import read_reference, reference_of  # noqa: E402
from harnessdiff.read.survey import check_survey, survey_of  # noqa: E402
from harnessdiff.resources import shipped_cases, shipped_references  # noqa: E402

if TYPE_CHECKING:
    from collections.abc import Iterator

    from harnessdiff.model.reference import Reference
    from harnessdiff.read.json_text import Document

Json = dict[str, Any]

SMALLEST_PARTS = {"observations": 2, "wires": 3, "readings": 1}
"""Entries that a seed begins with, of the lists that are cut; what they name is kept, too."""
SEEDS_A_FILE = 4
LONGEST_INPUT = 200_000
DEEP, SHALLOW = (3, 3, 5), (4, 1, 0)
"""Shares of damage to bytes, tokens and tree: what comes through to schema and sense, and what is fast."""
SLOW_S = 20.0
"""An input that takes longer is told; a person would think the program hangs."""

TOKENS = re.compile(rb'"(?:[^"\\]|\\.)*"|-?[0-9.]+(?:[eE][+-]?[0-9]+)?|true|false|null|[{}\[\],:]')
SPICE = [
    b"", b'"', b"\\", b"\\u0000", b"\\ud800", b"\\udc00", b"\\uD83D\\uDE97", b"\x00", b"\x1f", b"\x7f", b"\n", b"\r",
    b"\xff", b"\xc0\xaf", b"\xed\xa0\x80", b"\xef\xbb\xbf", b"\xfe\xff", b"\xe2\x80\xa8", b"\xf0\x9f\x9a\x97",
    b"NaN", b"-Infinity", b"1e999", b"-0", b"-0.0", b"1e-999", b"9" * 301, b"0.1e1", b"01", b".5", b"5.", b"0x1F",
    b"True", b"None", b"//", b"/*", b"#", b",", b",,", b":", b"{", b"}", b"[", b"]", b"{}", b"[]", b'""', b"[" * 60,
    b'{"":' * 60, b'"x_own"', b'"unknown"', b'"everything"', b'"2.0"', b'"1.1"', b'"2026-13-45"', b'"../../x"',
]  # fmt: skip
VALUES: list[Any] = [
    None, True, False, 0, -1, 1, 2, 0.5, -0.0, 1e308, -1e308, 5e-324, 10**30, 2**63, "", " ", "unknown", "everything",
    "W1", "BAT1:+", "T1.lead", "T1.device", ":", ".", "~", "/", "..", "\u0000", "\u202e", "ä", "\U0001f697", "x" * 5000,
    "1,5", "0.5 mm", "AWG 16", "2026", "2026-03-14", "2026-03-14T10:00:00+14:00", "9999-12-31", "0000", [], {}, [[]],
    [{}], {"": ""}, {"x_own": None}, {"exact": 0}, {"min": 2, "max": 1}, {"one_of": []}, {"min": -1, "unit": "AWG"},
    {"exact": 4, "unit": "AWG"}, {"exact": 1e308, "unit": "ft"}, {"base": "unknown"}, {"words": "light blue"},
    {"terminal": "BODY:1"}, {"metal": "body"}, {"not_traced": True}, {"wire": {"colour": {"base": "RD"}}}, ["1", "1"],
]  # fmt: skip


# -- seeds: the shipped files, cut small


@cache
def shipped(name: str) -> Reference:
    return read_reference(shipped_references()[name])


def cut_small(data: Json, rng: random.Random) -> Json:
    """A few entries of a document, and whatever they name."""
    lists = {key: value for key, value in data.items() if isinstance(value, list) and key not in ("visits", "options")}
    by_id = {entry["id"]: (key, n) for key, value in lists.items() for n, entry in enumerate(value) if "id" in entry}
    kept: dict[str, set[int]] = {key: set() for key in lists}
    todo: list[tuple[str, int]] = []
    for key, most in SMALLEST_PARTS.items():
        todo += [(key, rng.randrange(len(lists[key]))) for _ in range(most if lists.get(key) else 0)]
    while todo:
        key, number = todo.pop()
        if number in kept[key] or key == "as_built":
            continue
        kept[key].add(number)
        texts = set() if key == "conditions" else set(texts_of(lists[key][number]))
        names = texts | {re.split(r"[:.]", text)[0] for text in texts}
        todo += [by_id[name] for name in sorted(names & set(by_id))]
    kept["conditions"] = {0} if lists.get("conditions") else set()
    cut: Json = {
        key: [lists[key][n] for n in sorted(kept[key])] if key in lists else value for key, value in data.items()
    }
    cut["conditions"] = [
        {key: value for key, value in one.items() if key not in ("positions", "must_stay_dead", "after")}
        for one in cut.get("conditions", ())
    ]
    if "scope" in cut:
        cut["scope"] = {"looked_at": cut["scope"]["looked_at"][:2]}
    return cut


def texts_of(value: Any) -> Iterator[str]:
    """Every text in a value."""
    if isinstance(value, str):
        yield value
    for one in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        yield from texts_of(one)


def seeds(rng: random.Random) -> list[bytes]:
    """Small documents that are sound, but for what a cut survey may lack."""
    found = []
    for path in (*shipped_cases().values(), *shipped_references().values()):
        data = json.loads(path.read_bytes())
        found += [json.dumps(cut_small(data, rng), ensure_ascii=False).encode() for _ in range(SEEDS_A_FILE)]
    return found


# -- mutations


def mutated(raw: bytes, pool: list[bytes], rng: random.Random, shares: tuple[int, int, int] = DEEP) -> bytes:
    """A document with some damage: to its bytes, its tokens, or its tree, in these shares."""
    for _ in range(rng.choice((1, 1, 1, 2, 3, 8))):
        raw = rng.choices((in_bytes, in_tokens, in_tree), shares)[0](raw, pool, rng)[:LONGEST_INPUT]
    return raw


def in_bytes(raw: bytes, pool: list[bytes], rng: random.Random) -> bytes:
    """A bit turned, bytes put in, taken out, written twice, taken from elsewhere, or the end lost."""
    at = rng.randrange(len(raw) + 1)
    end = min(len(raw), at + rng.choice((0, 1, 1, 2, 4, 30, 300)))
    other = rng.choice(pool)
    start = rng.randrange(len(other) + 1)
    piece = other[start : start + rng.choice((1, 10, 100))]
    put = [rng.choice(SPICE), bytes([rng.randrange(256)]), raw[at:end] * 2, piece]
    if rng.random() < 0.05:
        return rng.choice((raw[:at], raw[at:]))
    return raw[:at] + rng.choice(put) + raw[end:]


def in_tokens(raw: bytes, pool: list[bytes], rng: random.Random) -> bytes:
    """A token in the place of another."""
    places = [match.span() for match in TOKENS.finditer(raw)]
    others = TOKENS.findall(rng.choice(pool))
    if not places or not others:
        return in_bytes(raw, pool, rng)
    start, end = rng.choice(places)
    put = (rng.choice(others), rng.choice(SPICE), json.dumps(rng.choice(VALUES)).encode(), raw[start:end] * 2)
    return raw[:start] + rng.choice(put) + raw[end:]


def in_tree(raw: bytes, pool: list[bytes], rng: random.Random) -> bytes:
    """A value in the place of another, gone, renamed, twice, or at another place: still JSON."""
    try:
        data = json.loads(raw)
        other = json.loads(rng.choice(pool))
    except (ValueError, RecursionError):
        return in_bytes(raw, pool, rng)
    spots = list(spots_of(data))
    if not spots:
        return in_bytes(raw, pool, rng)
    around, key = rng.choice(spots)
    elsewhere, there = rng.choice(list(spots_of(other)) or spots)
    match rng.randrange(6):
        case 0:
            around[key] = rng.choice(VALUES)
        case 1:
            around[key] = elsewhere[there]
        case 2:
            del around[key]
        case 3 if isinstance(around, dict):
            around[rng.choice([one for _, one in spots_of(other) if isinstance(one, str)] or ["x"])] = around[key]
        case 4 if isinstance(around, list):
            around.insert(rng.randrange(len(around) + 1), elsewhere[there])
        case _:
            here, name = rng.choice(spots)
            try:
                around[key], here[name] = here[name], around[key]
            except (KeyError, IndexError):
                around[key] = None
    try:
        return json.dumps(data, ensure_ascii=rng.random() < 0.5, indent=rng.choice((None, None, 1))).encode(
            errors="surrogatepass"
        )
    except (ValueError, RecursionError):  # a value was put into itself
        return raw


def spots_of(value: Any, depth: int = 0) -> Iterator[tuple[Any, Any]]:
    """Every member and entry, as what holds it and its name or number."""
    if depth > 90 or not isinstance(value, (dict, list)):  # the reader refuses what is deeper than 100
        return
    for key, one in list(value.items() if isinstance(value, dict) else enumerate(value)):
        yield value, key
        yield from spots_of(one, depth + 1)


# -- what is tried


def outcome(raw: bytes, *, with_assessment: bool = True) -> str:
    """How far an input came; raises what it should not."""
    come = "no JSON"
    try:
        document = parse_document(raw, "input")
        come = "not of the format"
        kind = format_of(document)
        come = f"{kind} refused"
        if kind == "findings":
            checked(document, kind)
        elif kind == "reference":
            reference = reference_of(document)
            come = "reference that cannot be assessed"
            if with_assessment:
                assess(reference, survey_of(parse_document(LEAST_SURVEY, "least"), reference))
        else:
            return of_survey(document, with_assessment=with_assessment)
    except HarnessDiffError as error:
        if not str(error).strip():
            raise AssertionError("refused without a word") from error
        return come
    return f"{kind} sound"


LEAST_SURVEY = json.dumps(
    {
        "format": "harnessdiff survey", "version": "1.0", "visits": [{"id": "V1", "when": "2026"}],
        "scope": {"looked_at": "everything"}, "observations": [],
    }
).encode()  # fmt: skip


def of_survey(document: Document, *, with_assessment: bool) -> str:
    """How far a survey came, against the shipped reference that it names, or any."""
    stated = document.data.get("reference")
    name = stated.get("id") if isinstance(stated, dict) else None
    reference = shipped(name if isinstance(name, str) and name in shipped_references() else "light_van")
    sound = True
    try:
        check_survey(document)
    except HarnessDiffError:
        sound = False
    survey = survey_of(document, reference)
    if not sound:
        raise AssertionError("refused by itself and taken with its reference")
    try:
        if with_assessment:
            assess(reference, survey)
    except HarnessDiffError:
        return "survey that contradicts itself"
    return "survey sound"


# -- runs


class Run:
    """What was tried and found."""

    def __init__(self, save: Path, *, with_assessment: bool = True) -> None:
        self.save = save
        self.with_assessment = with_assessment
        self.counts: Counter[str] = Counter()
        self.faults: Counter[str] = Counter()

    def tried(self, raw: bytes) -> None:
        """Try an input; what it should not raise is kept, with the input, the first time."""
        began = time.perf_counter()
        try:
            self.counts[outcome(raw, with_assessment=self.with_assessment)] += 1
        except Exception as error:  # noqa: BLE001 - whatever it is, that is what is looked for
            self.counts["fault"] += 1
            self.fault(f"{type(error).__name__} at {where(error)}", raw, traceback.format_exc())
        took = time.perf_counter() - began
        if took > SLOW_S:
            self.fault(f"longer than {SLOW_S:g} s", raw, f"{took:.1f} s")

    def fault(self, what: str, raw: bytes, words: str) -> None:
        """Count a fault; keep the first input of its sort."""
        if what not in self.faults:
            path = self.save / f"fault-{len(self.faults)}.json"
            path.write_bytes(raw)
            sys.stderr.write(f"{path}: {what}\n{words}\n")
        self.faults[what] += 1

    def ended(self) -> int:
        """Print what came out; returns the exit code."""
        lines = [f"{self.counts.total()} inputs", *(f"{n:9} {word}" for word, n in self.counts.most_common())]
        lines += [f"{len(self.faults)} sorts of faults", *(f"{n:9} {word}" for word, n in self.faults.items())]
        sys.stdout.write("\n".join([*lines, ""]))
        sys.stdout.flush()
        return 1 if self.faults else 0


def where(error: BaseException) -> str:
    """File and line of the program in which an error came up."""
    frames = [frame for frame in traceback.extract_tb(error.__traceback__) if "/harnessdiff/" in frame.filename]
    frame = (frames or traceback.extract_tb(error.__traceback__))[-1]
    return f"{Path(frame.filename).name}:{frame.lineno}"


def by_seed(run: Run, inputs: int, seed: int, minutes: float, shares: tuple[int, int, int] = DEEP) -> None:
    """Try the mutator's inputs; the same for the same seed."""
    rng = random.Random(seed)
    pool = sorted(seeds(rng), key=len)
    pool = pool[: len(pool) // 6] if shares == SHALLOW else pool
    end = time.monotonic() + minutes * 60
    for number in range(inputs):
        run.tried(mutated(rng.choice(pool), pool, rng, shares))
        if number % 256 == 0 and time.monotonic() > end:
            return


def by_coverage(run: Run, inputs: int, seed: int, minutes: float) -> None:
    """The same, led by what new code an input reaches."""
    atheris = importlib.import_module("atheris")
    pool = seeds(random.Random(seed))
    end = time.monotonic() + minutes * 60

    def try_one(raw: bytes) -> None:
        run.tried(raw)
        if run.counts.total() >= inputs or time.monotonic() > end:
            os._exit(run.ended())  # the library never comes back

    def mutate(raw: bytes, most: int, own: int) -> bytes:
        rng = random.Random(own)
        return mutated(raw, pool, rng)[:most] if rng.random() < 0.8 else atheris.Mutate(raw, most)

    for name, module in list(sys.modules.items()):
        if name.startswith("harnessdiff.read"):
            for one in vars(module).values():
                if callable(one) and getattr(one, "__module__", None) == name and hasattr(one, "__code__"):
                    atheris.instrument_func(one)
    with tempfile.TemporaryDirectory() as corpus:
        for number, raw in enumerate(pool):
            (Path(corpus) / f"{number}.json").write_bytes(raw)
        arguments = [sys.argv[0], corpus, f"-seed={seed}", "-max_len=20000", "-timeout=120", "-verbosity=0"]
        atheris.Setup(arguments, try_one, custom_mutator=mutate)
        atheris.Fuzz()


def main() -> int:
    """Try inputs; 1 where something came up."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("inputs", nargs="?", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=60)
    parser.add_argument("--save", type=Path, default=Path(), help="where inputs at fault are kept")
    way_in = parser.add_mutually_exclusive_group()
    way_in.add_argument(
        "--shallow", action="store_true", help="damage bytes and tokens alone: many more inputs a minute"
    )
    way_in.add_argument("--atheris", action="store_true", help="let coverage lead")
    told = parser.parse_args()
    run = Run(told.save, with_assessment=not told.shallow)
    by_own = partial(by_seed, shares=SHALLOW if told.shallow else DEEP)
    with contextlib.suppress(KeyboardInterrupt):
        (by_coverage if told.atheris else by_own)(run, told.inputs, told.seed, told.minutes)
    return run.ended()


if __name__ == "__main__":
    sys.exit(main())
