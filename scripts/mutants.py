"""Tries mutants one after the other, in one process that imports everything once.

    python mutants.py PATTERN [again]

`scripts/mutate` calls it in the folder that holds a copy of the project and what mutmut makes of it. mutmut makes the
mutants, all of a module in one file, and keeps the results; pytest collects the tests once. A first child runs every
test that is new and notes which functions it reaches and how long it takes. A second one puts one mutant after the
other in the place of its function and runs the tests that reach it, those of its own module first, then the quick
ones, up to the first that fails; a test that does not end ends the child, and the next one goes on behind that mutant.
It goes round twice: with a few seconds of tests for every mutant, then with the rest for those nobody has noticed.
Tests that have noticed others come first. POSIX only: it forks.
"""

from __future__ import annotations

import fnmatch
import gc
import inspect
import json
import os
import signal
import sys
from bisect import bisect
from collections import Counter, defaultdict
from collections.abc import Callable
from itertools import accumulate
from pathlib import Path
from time import process_time
from types import ModuleType
from typing import Any

import pytest
from _pytest.runner import runtestprotocol
from mutmut import __main__ as maker
from mutmut.mutation.data import SourceFileMutationData
from mutmut.mutation.trampoline import set_mutant_under_test
from mutmut.state import state
from mutmut.utils.format_utils import mangled_name_from_mutant_name

MOST_IMPORTANT = ("base_value", "judge", "repeats", "units", "slots", "short_program", "bonus", "left")
"""Modules whose mutants are tried first; then the rest."""
SURVIVED, KILLED, NO_TESTS, HALF_WAY, TIMEOUT = 0, 1, 33, 35, 36
"""Results as mutmut keeps them; half-way means that the first round did not notice it."""
FIRST_ROUND = 1.5
"""Seconds that the tests of the first round usually take."""
PATIENCE = 3.0
"""Seconds of processor time that a test may take, besides ten times what it usually takes."""
REACHED, FAILED = Path("reached.json"), Path("failed.txt")
SHARP = 8
"""So many tests that have noticed others are tried first."""
MUTATED = ("app.legality.", "app.scoring.")
REMEMBER = (*MUTATED, "tests.")
"""Where answers may be remembered that a mutant would change."""


class Loop:
    """A pytest plugin that takes the place of its loop over the tests."""

    def __init__(self, pattern: str, again: bool) -> None:
        self.pattern, self.again = pattern, again
        self.failed = ""
        self.sharp: defaultdict[str, Counter[str]] = defaultdict(Counter)

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Every asked mutant against the tests that reach it."""
        if session.testsfailed:
            raise session.Failed("the tests could not be collected")
        self.items = {item.nodeid: item for item in session.items}
        gc.freeze()
        if self._ran_all():
            known = json.loads(REACHED.read_text())
            self.reached, self.seconds = known["reached"], known["seconds"]
            self._try_all(self._asked(None, *((SURVIVED, NO_TESTS, HALF_WAY) if self.again else ())))
            self._try_all(self._asked(HALF_WAY), second=True)
        return True

    def _asked(self, *results: int | None) -> dict[str, SourceFileMutationData]:
        """Mutants that fit the pattern and have one of these results; the most important modules first."""
        found = []
        for file in sorted(Path().rglob("app/*/*.py.meta")):
            kept = SourceFileMutationData(path=file.with_suffix(""))
            kept.meta_path = file
            kept.load()
            for name, result in kept.exit_code_by_key.items():
                if result in results and fnmatch.fnmatch(name, self.pattern):
                    found.append((name, kept))
        return dict(sorted(found, key=lambda one: _place(one[1])))

    def _try_all(self, asked: dict[str, SourceFileMutationData], second: bool = False) -> None:
        left = list(asked)
        print(f"{len(left)} to try, {'second' if second else 'first'} round", flush=True)
        while left:
            come, go = os.pipe()
            pid = _child(lambda left=left, go=go: self._try(left, go, second))
            os.close(go)
            with os.fdopen(come) as answers:
                for answer in answers:
                    _keep(asked, left.pop(0), int(answer))
                    if len(left) % 100 == 0:
                        print(f"{len(asked) - len(left)} of {len(asked)} tried", flush=True)
            ended = _ended(pid)
            if left:
                _keep(asked, left.pop(0), ended)

    def _try(self, names: list[str], answers: int, second: bool) -> int:
        """In a child: for each mutant, does a test notice it? Answers line by line."""
        functions = _Functions()
        for name in names:
            first, rest = self._tests(name)
            now = self._sharp_first(name, [*first, *rest], rest if second else first)
            with functions.changed(name):
                failed = next((test for test in now if not self._passes(test)), None)
            if failed:
                self.sharp[mangled_name_from_mutant_name(name)][failed] += 1
            result = (
                KILLED if failed else HALF_WAY if rest and not second else SURVIVED if first else NO_TESTS
            )
            os.write(answers, f"{result}\n".encode())
        return SURVIVED

    def _sharp_first(self, mutant: str, fit: list[str], now: list[str]) -> list[str]:
        """The tests to run now, behind a few that have noticed mutants: of this function, then of any other."""
        here = self.sharp[mangled_name_from_mutant_name(mutant)]
        anywhere = sum(self.sharp.values(), Counter())
        sharp = [test for counts in (here, anywhere) for test, _ in counts.most_common(SHARP) if test in fit]
        return list(dict.fromkeys([*sharp, *now]))

    def _tests(self, mutant: str) -> tuple[list[str], list[str]]:
        """The tests of both rounds: those of its own module first, then the quick ones."""
        function = mangled_name_from_mutant_name(mutant)
        own = f"/test_{function.split('.')[2]}.py"
        tests = [one for one in self.reached.get(function, ()) if one in self.items]
        tests.sort(key=lambda one: (own not in one, self.seconds[one]))
        spent = list(accumulate(self.seconds[one] for one in tests))
        first = bisect(spent, FIRST_ROUND) + 1
        return tests[:first], tests[first:]

    def _passes(self, test: str) -> bool:
        signal.setitimer(signal.ITIMER_VIRTUAL, PATIENCE + 10 * self.seconds[test])
        item = self.items[test]
        values = item.callspec.params if hasattr(item, "callspec") else {}
        if set(item.fixturenames) - {"bare_shelf", "request"} != set(values) or inspect.isclass(
            item.parent.obj
        ):
            return _passes(item)
        # A test without fixtures is a function of its parameters.
        try:
            item.obj(**values)
        except pytest.skip.Exception:
            return True
        except BaseException:  # whatever a mutant raises
            return False
        return True

    def _ran_all(self) -> bool:
        """Are the tests known, and did the new ones pass without a mutant?"""
        if _ended(_child(self._look)) == SURVIVED:
            return True
        self.failed = FAILED.read_text()
        return False

    def _look(self) -> int:
        """In a child: run every new test as it is, and write down what it reaches and how long it takes."""
        set_mutant_under_test("stats")
        then = REACHED.stat().st_mtime if REACHED.exists() else 0.0
        # Changed code may be reached by other tests than before.
        same_code = all(file.stat().st_mtime < then for file in Path("app").rglob("*.py"))
        known = json.loads(REACHED.read_text()) if same_code else {"reached": {}, "seconds": {}}
        reached, seconds = defaultdict(list, known["reached"]), known["seconds"]
        for name, item in self.items.items():
            if name in seconds and item.path.stat().st_mtime < then:
                continue
            state()._stats.clear()
            _forget()
            begun = process_time()
            if not _passes(item):
                FAILED.write_text(name)
                return KILLED
            seconds[name] = process_time() - begun
            for function in state()._stats - {one for one, tests in reached.items() if name in tests}:
                reached[function].append(name)
        REACHED.write_text(json.dumps({"reached": reached, "seconds": seconds}))
        return SURVIVED


class _Functions:
    """Every mutated function in all places that know it, without mutmut's question which mutant is alive."""

    def __init__(self) -> None:
        everywhere = [one for name, one in sys.modules.items() if name.startswith(("app.", "tests."))]
        self.known: dict[str, tuple[dict[str, Any], list[tuple[Any, str]]]] = {}
        for module in list(everywhere):
            if module.__name__.startswith(MUTATED):
                for name in [
                    one for one in vars(module) if one.startswith("mutants_x") and one.endswith("__mutmut")
                ]:
                    key = name.removeprefix("mutants_").removesuffix("__mutmut")
                    self.known[f"{module.__name__}.{key}"] = _found(
                        module, key, vars(module)[name], everywhere
                    )
        for function in self.known:
            self._put(function, "_mutmut_orig")

    def changed(self, mutant: str) -> _Changed:
        """The mutant in the place of its function, as long as the block lasts."""
        return _Changed(self, mutant)

    def _put(self, function: str, which: str) -> None:
        versions, places = self.known[function]
        for place, name in places:
            setattr(place, name, versions[which])


class _Changed:
    def __init__(self, functions: _Functions, mutant: str) -> None:
        self.functions, self.function = functions, mangled_name_from_mutant_name(mutant)
        self.which = mutant.rpartition(".")[2]

    def __enter__(self) -> None:
        _forget()
        self.functions._put(self.function, self.which)

    def __exit__(self, *_: object) -> None:
        self.functions._put(self.function, "_mutmut_orig")


def _found(
    module: ModuleType, key: str, versions: dict[str, Any], everywhere: list[ModuleType]
) -> tuple[dict[str, Any], list[tuple[Any, str]]]:
    """The versions of one function, and the places where it stands: modules that import it, or its class."""
    if "ǁ" in key:
        _, owner, name = key.split("ǁ")
        written = vars(getattr(module, owner))
        kept = {one: written[f"{key}__mutmut_orig" if one == "_mutmut_orig" else one] for one in versions}
        return kept, [(getattr(module, owner), name)]
    asker = vars(module)[key.removeprefix("x_")]
    return versions, [
        (one, name) for one in everywhere for name, value in vars(one).items() if value is asker
    ]


def _keep(asked: dict[str, SourceFileMutationData], name: str, result: int) -> None:
    """Written beside and then exchanged, so that `--show` may read at any time."""
    kept = asked[name]
    kept.exit_code_by_key[name] = result
    whole = kept.meta_path
    kept.meta_path = whole.with_name(f"{whole.name}.new")
    kept.save()
    kept.meta_path = kept.meta_path.replace(whole)


def _place(kept: SourceFileMutationData) -> int:
    module = Path(kept.path).stem
    return MOST_IMPORTANT.index(module) if module in MOST_IMPORTANT else len(MOST_IMPORTANT)


def _passes(item: pytest.Item) -> bool:
    return not any(report.failed for report in runtestprotocol(item, log=False, nextitem=None))


def _child(work: Callable[[], int]) -> int:
    """The number of a process that does `work`, quietly, and ends with its result."""
    if pid := os.fork():
        return pid
    code = KILLED
    try:
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        code = work()
    finally:
        os._exit(code)


def _forget() -> None:
    """Answers that were remembered were those of the code as it was before."""
    for name, module in list(sys.modules.items()):
        if name.startswith(REMEMBER):
            for one in list(vars(module).values()):
                if hasattr(one, "cache_clear"):
                    one.cache_clear()


def _ended(pid: int) -> int:
    """What became of a child: a test that does not end was stopped by its timer."""
    status = os.waitpid(pid, 0)[1]
    if os.WIFSIGNALED(status):
        return TIMEOUT if os.WTERMSIG(status) == signal.SIGVTALRM else -os.WTERMSIG(status)
    return os.WEXITSTATUS(status)


def main(pattern: str, *more: str) -> int:
    """Makes the mutants that are not made yet and tries them; 0 unless the tests fail without a mutant."""
    set_mutant_under_test("mutant_generation")
    Path("mutants").mkdir(exist_ok=True)
    with maker.CatchOutput():
        maker.copy_src_dir()
        maker.copy_also_copy_files()
        maker.setup_source_paths()
        maker.create_mutants(1)
    settings: Any = maker.config()
    os.chdir("mutants")
    set_mutant_under_test("")
    loop = Loop(pattern, "again" in more)
    arguments = [*settings.pytest_add_cli_args, *settings.pytest_add_cli_args_test_selection]
    ended = pytest.main(["-q", "-s", "--no-header", "--no-summary", *arguments], plugins=[loop])
    if loop.failed or ended not in (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED):
        print(f"Without any mutant this test fails: {loop.failed or 'see above'}")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
