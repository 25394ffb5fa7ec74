"""Planners kept in memory: one a question, shared by all programs that ask the same, each with a lock of its own.

A planner keeps what it has worked out and is not meant for two threads at once, so whoever asks holds its lock; other
questions do not wait. The least used are let go; a question asked again is worked out again.
"""

from __future__ import annotations

import json
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from hashlib import sha256
from threading import Lock
from typing import Any

from app import engine

MOST = 256
"""Planners kept at once; a few megabytes each (scripts/load prints the memory of a busy evening)."""
MOST_PROGRAMS = 4096
"""Programs whose question is remembered by its fingerprint."""

Question = dict[str, Any]


class KeptPlanner:
    """A planner, made when it is first asked, and how long its latest answer took, in seconds."""

    def __init__(self, question: Question) -> None:
        self.lock = Lock()
        self.seconds: float | None = None
        self._question = question
        self._planner: engine.Planner | None = None

    @property
    def planner(self) -> engine.Planner:
        """Only for whoever holds the lock. Raises InputError when the question cannot be asked."""
        if self._planner is None:
            self._planner = engine.Planner(self._question)
        return self._planner


class KeptPlanners:
    """The planners of the live programs in use."""

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._lock = Lock()
        self._kept: OrderedDict[str, KeptPlanner] = OrderedDict()
        self._question_of: OrderedDict[int, str] = OrderedDict()

    @contextmanager
    def held(self, program: int, question: Callable[[], Question]) -> Iterator[KeptPlanner]:
        """The planner of a program, for this thread alone. `program`: a mark of its question, so it is made once."""
        found = self.known(program) or self._new(program, question())
        with found.lock:
            yield found

    def known(self, program: int) -> KeptPlanner | None:
        """The planner of a program that was asked before, by the mark of its question, unless it was let go."""
        with self._lock:
            name = self._question_of.get(program)
            if name is None or name not in self._kept:
                return None
            self._kept.move_to_end(name)
            return self._kept[name]

    def _new(self, program: int, question: Question) -> KeptPlanner:
        name = sha256(json.dumps(question, sort_keys=True).encode()).hexdigest()
        with self._lock:
            self._question_of[program] = name
            while len(self._question_of) > MOST_PROGRAMS:
                self._question_of.popitem(last=False)
            found = self._kept.setdefault(name, KeptPlanner(question))
            self._kept.move_to_end(name)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
            return found
