"""Mutation testing of rules and physics: the copy that is mutated, and what its run came to.

python .ci/mutants.py run FOLDER          copies the project to FOLDER, mutates and runs the tests
python .ci/mutants.py sample FOLDER N     the same on N mutants drawn at random
python .ci/mutants.py judge FOLDER        fails when the tests let too many mutants through

mutmut leaves decorated functions alone, so in the copy ``@cache``, ``@lru_cache``, ``@njit`` and
``@property`` become a call below the function, which does the same. A ``conftest.py`` there has
the quickest tests of a mutant run first.

Every mutant counts but those that only put other words in a sentence: one string literal of two
words or more outside a comparison, changed in its case or framed with XX and nothing else. They
are told by comparing the mutant's syntax tree with the original's, and are not run: no test should
pin a message letter by letter. A literal of one word may be a key, so it counts. Both shares are
printed: without them, which must reach ``SHARE_LEAST``, and with every one of them as a survivor.

All of them take longer than a night. A sample is drawn anew each day (``MUTANTS_SEED`` draws one
again) and its share printed with the half width of its 95 % interval.

``equivalent_mutants.toml`` in tests/rules lists survivors that no test can tell from the original,
each with the reason; they do not count either. An entry whose mutant is gone or noticed fails.
"""

from __future__ import annotations

import ast
import difflib
import json
import os
import random
import re
import shutil
import subprocess
import sys
import tomllib
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from fnmatch import fnmatch
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
COPIED = ("server", "templates", "static", "migrations", "tests", "pyproject.toml", "README.md")
SAMPLE = "sample.json"
EQUIVALENT = "tests/rules/equivalent_mutants.toml"
WRAPPERS = {"cache", "lru_cache", "njit", "property"}
FIRST = "server.rules.wiring.pulls.x_least_box__mutmut_1"
"""One mutant that few tests reach: the first call is for all mutants and the tests' times."""
KILLED = {1, 3, 24, -24, 36, 152, 255, -11, -9}  # failed, out of time, crashed
NO_TEST = {5, 33}
SKIPPED = 34
QUICKEST_FIRST = """
import json
from pathlib import Path

STATS = Path(__file__).parent / "mutmut-stats.json"
took = {}


def pytest_collection_modifyitems(items):
    if not took and STATS.exists():
        took.update(json.loads(STATS.read_text(encoding="utf-8"))["duration_by_test"])
    items.sort(key=lambda item: took.get(item.nodeid, 0.0))
"""
SHARE_LEAST = 0.85


@dataclass(frozen=True)
class Mutant:
    """One changed function, as the run left it."""

    key: str  # mutmut's own name of it
    name: str  # server.rules.ocpd.next_standard_a, or with .Class. between
    module: str
    exit_code: int | None
    words_only: bool
    was: tuple[str, ...]
    now: tuple[str, ...]

    @property
    def package(self) -> str:
        """Rules or physics."""
        return ".".join(self.name.split(".")[:2])


def run(folder: Path, *patterns: str) -> None:
    """Mutate a copy in ``folder``; of what mutmut has not judged, or of ``patterns``, run it."""
    copy(folder)
    # The first call makes all mutants and times the tests, so that those of words can be skipped.
    mutmut(folder, FIRST)
    left = skip_words(folder)
    chosen = [name for name in left if any(fnmatch(name, pattern) for pattern in patterns)]
    if chosen or not patterns:
        mutmut(folder, *chosen)


def sample(folder: Path, size: str) -> None:
    """Mutate a copy in ``folder`` and run so many of its mutants, drawn at random."""
    copy(folder)
    mutmut(folder, FIRST)
    left = sorted(skip_words(folder))
    seed = os.environ.get("MUTANTS_SEED") or date.today().isoformat()  # noqa: DTZ011
    drawn = random.Random(seed).sample(left, min(int(size), len(left)))  # noqa: S311
    print(f"{len(drawn)} of {len(left)} mutants, seed {seed}")
    (folder / SAMPLE).write_text(json.dumps(drawn), encoding="utf-8")
    mutmut(folder, *drawn)


def mutmut(folder: Path, *names: str) -> None:
    """Run mutmut on mutants of these names or, without any, on those that were not run."""
    command = [str(Path(sys.executable).with_name("mutmut")), "run", *names]
    if at_once := os.environ.get("MUTANTS_AT_ONCE"):
        command += ["--max-children", at_once]
    uncompiled = os.environ | {"NUMBA_DISABLE_JIT": "1"}
    subprocess.run(command, cwd=folder, check=True, env=uncompiled)  # noqa: S603


def skip_words(folder: Path) -> list[str]:
    """Mark the mutants that change words only; the names of the others that survive so far."""
    left: list[str] = []
    for meta, codes, mutants in files_of(folder):
        for key, mutant in mutants.items():
            if mutant.words_only:
                codes["exit_code_by_key"][key] = SKIPPED
            elif mutant.exit_code not in KILLED:
                left.append(key)
        meta.write_text(json.dumps(codes), encoding="utf-8")
    return left


def copy(folder: Path) -> None:
    """The project in ``folder``, with the decorators named above moved under their functions."""
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            skip = shutil.ignore_patterns("__pycache__", "*.nbi", "*.nbc")
            shutil.copytree(source, folder / name, ignore=skip, dirs_exist_ok=True)
        else:
            folder.mkdir(parents=True, exist_ok=True)
            shutil.copy2(source, folder / name)
    (folder / "conftest.py").write_text(QUICKEST_FIRST, encoding="utf-8")
    for part in ("physics", "rules"):
        for path in (folder / "server" / part).rglob("*.py"):
            path.write_text(moved_decorators(path.read_text(encoding="utf-8")), encoding="utf-8")


def moved_decorators(source: str) -> str:
    """The same module with its caching and compiling decorators as calls after the functions."""
    lines = source.splitlines()
    functions = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.FunctionDef)]
    for node in sorted(functions, key=lambda node: -node.lineno):
        if len(node.decorator_list) != 1:
            continue
        (decorator,) = node.decorator_list
        words = ast.unparse(decorator)
        if words.partition("(")[0] in WRAPPERS:
            call = f"{' ' * node.col_offset}{node.name} = {words}({node.name})"
            lines.insert(node.end_lineno or 0, f"\n{call}")
            del lines[decorator.lineno - 1 : decorator.end_lineno]
    return "\n".join(lines) + "\n"


def files_of(folder: Path) -> Iterator[tuple[Path, dict[str, Any], dict[str, Mutant]]]:
    """What mutmut keeps for each mutated file: where, its content, and its mutants by key."""
    for meta in sorted((folder / "mutants" / "server").rglob("*.meta")):
        kept = json.loads(meta.read_text(encoding="utf-8"))
        text = meta.with_suffix("").read_text(encoding="utf-8")
        lines = text.splitlines()
        functions = {
            node.name: node
            for node in ast.walk(ast.parse(text))
            if isinstance(node, ast.FunctionDef) and "__mutmut_" in node.name
        }
        mutants = {}
        for key, code in kept["exit_code_by_key"].items():
            module, _, mangled = key.rpartition(".")
            plain = mangled.rpartition("__mutmut_")[0]
            original, mutant = functions[f"{plain}__mutmut_orig"], functions[mangled]
            was, now = _changed_lines(lines, original, mutant)
            name = plain.removeprefix("x_") if plain.startswith("x_") else plain[2:]
            mutants[key] = Mutant(
                key=key,
                name=f"{module}.{name.replace('ǁ', '.')}",
                module=module,
                exit_code=code,
                words_only=_words_only(original, mutant),
                was=was,
                now=now,
            )
        yield meta, kept, mutants


def _changed_lines(
    lines: list[str], original: ast.FunctionDef, mutant: ast.FunctionDef
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The lines of the original that the mutant lacks, and those it has instead."""
    old, new = (
        [line.strip().replace(node.name, "") for line in lines[node.lineno - 1 : node.end_lineno]]
        for node in (original, mutant)
    )
    told = [line for line in difflib.ndiff(old, new) if line[0] in "-+"]
    return (
        tuple(line[2:] for line in told if line[0] == "-"),
        tuple(line[2:] for line in told if line[0] == "+"),
    )


def _words_only(original: ast.AST, mutant: ast.AST) -> bool:
    """Whether the one change is in the letters of a sentence."""
    changes = list(_differences(original, mutant))
    if len(changes) != 1:
        return False
    (old, new) = changes[0]
    if not (isinstance(old, str) and isinstance(new, str) and re.search(r"\w.*\s.*\w", old)):
        return False
    return new.replace("XX", "").casefold() == old.replace("XX", "").casefold()


def _differences(one: object, other: object) -> Iterator[tuple[object, object]]:
    """Pairs of what differs in two syntax trees, the function's name aside.

    A comparison is taken whole: what is compared is no mere word.
    """
    if isinstance(one, ast.Compare) and isinstance(other, ast.Compare):
        if ast.dump(one) != ast.dump(other):
            yield one, other
    elif isinstance(one, ast.AST) and type(one) is type(other):
        for field in one._fields:
            if field != "name" or not isinstance(one, ast.FunctionDef):
                yield from _differences(getattr(one, field), getattr(other, field))
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        for first, second in zip(one, other, strict=True):
            yield from _differences(first, second)
    elif one != other or type(one) is not type(other):
        yield one, other


@dataclass
class Tally:
    """Mutants of one package or module."""

    counted: int = 0
    noticed: int = 0
    untested: int = 0
    not_run: int = 0
    words: int = 0
    equivalent: int = 0
    unchanged: int = 0
    sampled: bool = False

    @property
    def share(self) -> float:
        """Share noticed of the mutants that count; 1 where none does."""
        return self.noticed / self.counted if self.counted else 1.0

    @property
    def margin(self) -> str:
        """Half the width of the 95 % interval of a share that was drawn at random."""
        if not self.sampled or not self.counted:
            return ""
        return f" ± {1.96 * (self.share * (1.0 - self.share) / self.counted) ** 0.5:.1%}"

    def __str__(self) -> str:
        with_words = self.noticed / max(1, self.counted + self.words)
        return (
            f"{self.noticed} of {self.counted} mutants noticed "
            f"({self.share:.1%}{self.margin}); "
            f"{with_words:.1%} with {self.words} of words as survivors; "
            f"{self.untested} reached by no test; {self.equivalent} equivalent, "
            f"{self.unchanged} without a change"
        )


def judge(folder: Path, *patterns: str) -> None:
    """Print the shares, and the survivors whose names fit; exit with what fails."""
    listed = tomllib.loads((ROOT / EQUIVALENT).read_text(encoding="utf-8")).get("mutant", [])
    entries = {(e["function"], _tight(e["was"]), _tight(e["now"])): "is gone" for e in listed}
    packages: defaultdict[str, Tally] = defaultdict(Tally)
    modules: defaultdict[str, Tally] = defaultdict(Tally)
    drawn = folder / SAMPLE
    only = set(json.loads(drawn.read_text(encoding="utf-8"))) if drawn.exists() else None
    for mutant in (m for *_, mutants in files_of(folder) for m in mutants.values()):
        key = (mutant.name, _tight(" ".join(mutant.was)), _tight(" ".join(mutant.now)))
        noticed = mutant.exit_code in KILLED
        if key in entries:
            entries[key] = "is noticed" if noticed else ""
        if only is not None and mutant.key not in only and not mutant.words_only:
            continue
        equivalent = key in entries and not noticed
        for tally in (packages[mutant.package], modules[mutant.module]):
            tally.sampled = only is not None
            count(tally, mutant, equivalent=equivalent)
        if not (noticed or equivalent or mutant.words_only):
            show(mutant, patterns)
    for name, tally in sorted(modules.items()):
        print(f"{name}: {tally}")
    for name, tally in sorted(packages.items()):
        print(f"\n{name}: {tally}")
    faults = [f"{n}: {t.not_run} not run." for n, t in packages.items() if t.not_run]
    faults += [
        f"Fewer than {SHARE_LEAST:.0%} were noticed in {name}."
        for name, tally in packages.items()
        if tally.share < SHARE_LEAST
    ]
    faults += [f"The entry of {key[0]} {why}: {key[2]}" for key, why in entries.items() if why]
    if faults or not packages:
        sys.exit("\n".join(faults) or "No mutant was run.")


def count(tally: Tally, mutant: Mutant, *, equivalent: bool) -> None:
    """Add one mutant to what was counted."""
    if mutant.words_only:
        tally.words += 1
    elif not mutant.was and not mutant.now:
        tally.unchanged += 1  # such as 2.0**53 and one more, which no float tells apart
    elif equivalent:
        tally.equivalent += 1
    else:
        tally.counted += 1
        tally.noticed += mutant.exit_code in KILLED
        tally.untested += mutant.exit_code in NO_TEST
        tally.not_run += mutant.exit_code is None


def show(mutant: Mutant, patterns: tuple[str, ...]) -> None:
    """Print a survivor that was asked for."""
    if any(fnmatch(mutant.name, pattern) for pattern in patterns):
        print(f"\n{mutant.name}  ({mutant.exit_code})")
        print("\n".join([*(f"- {x}" for x in mutant.was), *(f"+ {x}" for x in mutant.now)]))


def _tight(text: str) -> str:
    return re.sub(r"\s+", "", text)


if __name__ == "__main__":
    {"run": run, "sample": sample, "judge": judge}[sys.argv[1]](Path(sys.argv[2]), *sys.argv[3:])
