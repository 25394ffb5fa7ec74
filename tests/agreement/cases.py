"""Generated `advise` requests, half of them lifelike, half of them wild; one seed, one case.

A case is drawn small enough for the exhaustive solver: at most four passes, four options a pass (and
sometimes the option to leave it out) and three outcomes an attempt, within a budget of program ends.
Jumps come from a small pool, so that repeats, families, quotas and units collide. Codes need not be a
panel's: what matters is that two solvers read them by the same rules.

Drawn among the rest: attempts worth nothing (`Lz`), attempts that never came off (`becomes` null), falls,
errors, other chances after a fall, beliefs about what was done, a limit on changes, planned elements that
are not among the options, the switches of disputed readings.
"""

from __future__ import annotations

from random import Random
from typing import Any

SEASONS = ("2022-23", "2025-26", "2026-27")
CLASSES = ("senior/women", "senior/men", "junior/women", "junior/men")
NOVICE = "isu/2022-23/intermediate-novice/all/free"
BOXES = {"2022-23": 7, "2025-26": 7, "2026-27": 6}
MOST_PASSES, MOST_OPTIONS, MOST_OUTCOMES = 4, 4, 3
BUDGETS = (40, 40, 150, 150, 150, 600, 600, 2500)
"""Program ends that the exhaustive solver may look at, drawn alike."""
LARGE_EVERY = 1_000
LARGEST = 21_000
"""Budget of the few cases that are as large as the shape allows: (4 x 3) to the fourth."""

Request = dict[str, Any]


def case(seed: int) -> Request:
    """The request of one seed. Its `aim` is expected points; see `with_target` for the other."""
    return Draw(Random(seed), large=seed % LARGE_EVERY == 0).request()


def with_target(request: Request, points: str) -> Request:
    """The same request, asking for the greatest chance of at least so many points."""
    return {**request, "aim": {"kind": "at_least", "points": points}}


class Draw:
    """Draws one request."""

    def __init__(self, random: Random, large: bool = False) -> None:
        self._random = random
        self.edition = self._edition()
        self._short = self.edition.endswith("short")
        self._lifelike = random.random() < 0.5
        self._euler = "Eu" if "2026-27" in self.edition else "1Eu"
        self._jumps = self._pool_of_jumps()
        budget = LARGEST if large else random.choice(BUDGETS)
        self._shape = self._fitting_shape(budget, large)

    def _edition(self) -> str:
        if self._random.random() < 0.1:
            return NOVICE
        segment = self._random.choice(("free", "free", "free", "short"))
        return f"isu/{self._random.choice(SEASONS)}/{self._random.choice(CLASSES)}/{segment}"

    def _boxes(self) -> int:
        if self._short:
            return 3
        return 5 if self.edition == NOVICE else BOXES[self.edition.split("/")[1]]

    def _pool_of_jumps(self) -> list[str]:
        if self.edition == NOVICE:
            names = ["1T", "1Lo", "1S", "2T", "2Lo", "2S", "2Lz", "1A", "2A", "3T"]
        else:
            names = ["2T", "2Lo", "2A", "3T", "3S", "3Lo", "3F", "3Lz", "3A", "4T", "4S", "1Lo", "1A"]
        return self._random.sample(names, self._random.randint(3, 6))

    def _fitting_shape(self, budget: int, large: bool) -> tuple[int, int, int]:
        """Passes, options a pass, outcomes an attempt: a random shape within the budget."""
        if large:
            return (3, 5, 3) if self._short else (MOST_PASSES, MOST_OPTIONS, MOST_OUTCOMES)
        most = 3 if self._short else MOST_PASSES
        while True:
            shape = (
                self._random.randint(1, most),
                self._random.randint(1, MOST_OPTIONS),
                self._random.randint(1, MOST_OUTCOMES),
            )
            if (shape[1] * shape[2]) ** shape[0] <= budget:
                return shape

    def request(self) -> Request:
        """The whole request."""
        pool = list(dict.fromkeys(self.element() for _ in range(MOST_OPTIONS + 1)))
        done = [self._done(pool) for _ in range(self._how_many_done())]
        half = self._random.randint(0, self._shape[0] + 1)
        passes = [self._pass(pool, late=place >= half) for place in range(self._shape[0])]
        request: Request = {
            "edition": self.edition,
            "done": done,
            "passes": passes,
            "attempts": {code: self._outcomes(code) for code in pool},
        }
        if self._random.random() < 0.4:
            made = sum("tried" in one and one["tried"] != one["planned"] for one in done)
            forced = sum(one["planned"] not in one["options"] for one in passes)
            request["max_changes"] = made + forced + self._random.choice((0, 0, 1, 1, 2))
        return request | self._switches()

    def _how_many_done(self) -> int:
        most = self._boxes()
        if self._short:
            return self._random.randint(0, max(0, most - self._shape[0]))
        return self._random.choice((0, *range(most + 1), max(0, most - self._shape[0])))

    def _switches(self) -> Request:
        if self._short or self._random.random() < 0.6:
            return {}
        switches = {"starred_jumps_use_up_an_execution": self._random.choice(("yes", "yes", "no"))}
        if "2026-27" in self.edition:
            reading = self._random.choice(("in_one_combination_only", "never"))
            if reading == "never":
                switches["euler_beside_a_sequence"] = "never"
            switches["repeats_clause_beside_the_family_cap"] = self._random.choice(("kept", "dropped"))
        return {"switches": switches}

    # elements

    def element(self) -> str:
        """An element to try."""
        kind = self._random.random()
        lead, tail = self._random.choice(self._jumps), self._random.choice(self._jumps)
        if not self._lifelike:
            return self._wild(kind)
        if kind < 0.45:
            return lead
        if kind < 0.7:
            return f"{lead}+{tail}" + self._sequence(tail)
        if kind < 0.82:
            return f"{lead}+{self._euler}+{self._random.choice(('2S', '3S', '2F'))}"
        if kind < 0.92:
            return f"{lead}+{tail}+{self._random.choice(('2T', '2Lo'))}" + self._sequence(tail)
        return f"{lead}+2A+SEQ"

    def _sequence(self, tail: str) -> str:
        return "+SEQ" if tail.endswith("A") else ""

    def _wild(self, kind: float) -> str:
        if kind < 0.05:
            return self._random.choice(("F", "A", "Lz"))
        if kind < 0.4:
            return self._jump()
        if kind < 0.65:
            return f"{self._jump()}+{self._jump()}" + self._random.choice(("", "", "+SEQ"))
        if kind < 0.78:
            return f"{self._jump()}+{self._euler}+{self._jump()}" + self._random.choice(("", "", "", "+SEQ"))
        if kind < 0.86:
            return f"{self._jump()}+{self._random.choice(('COMBO', 'SEQ'))}+{self._jump()}"
        if kind < 0.9:
            return f"{self._jump()}+COMBO"
        return f"{self._jump()}+{self._jump()}+{self._jump()}"

    def _jump(self) -> str:
        return self._random.choice(self._jumps) + self._random.choice(("", "", "", "<", "<<", "q"))

    def _missed(self, code: str) -> str | None:
        """What an attempt becomes when it goes wrong."""
        if not self._lifelike or "COMBO" in code:
            return self._random.choice((None, code, self.element(), self.element(), self.element()))
        parts = code.removesuffix("+SEQ").split("+")
        lead = parts[0]
        popped = f"{max(1, int(lead[0]) - 1)}{lead[1:]}" if lead[0].isdigit() else lead
        tails = [*parts[1:], "SEQ"] if code.endswith("+SEQ") else parts[1:]
        return self._random.choice(
            (
                "+".join([lead.rstrip("<q") + "<", *tails]),
                "+".join([lead.rstrip("<q") + "<<", *tails]),
                lead,
                popped,
                lead.lstrip("1234"),
                None,
            )
        )

    # chances

    def _outcomes(self, code: str) -> list[Request]:
        kinds = self._random.randint(1, self._shape[2])
        weights = [self._random.randint(1, 9) for _ in range(kinds)]
        chances = [round(one / sum(weights), 3) for one in weights[1:]]
        chances = [round(1 - sum(chances), 3), *chances]
        return [self._outcome(code, chance, first=n == 0) for n, chance in enumerate(chances)]

    def _outcome(self, code: str, chance: float, first: bool) -> Request:
        clean = first or self._random.random() < 0.2
        return {
            "becomes": code if clean else self._missed(code),
            "chance": chance,
            "goe": self._random.choice((-5, -2.5, -1, 0, 0.7, 1.3, 4)),
            "fall": self._random.random() < (0.05 if clean else 0.3),
            "error": self._random.random() < 0.15,
        }

    # passes

    def _done(self, pool: list[str]) -> Request:
        one: Request = {"late": self._random.random() < 0.4, "fall": self._random.random() < 0.2}
        if self._random.random() < 0.7:
            planned = self._random.choice(pool)
            one |= {
                "planned": planned,
                "tried": planned if self._random.random() < 0.7 else self._random.choice(pool),
            }
        kind = self._random.random()
        if kind < 0.15:
            one["any_of"] = self._readings()
        else:
            one["code"] = None if kind < 0.2 else self.element()
            one["error"] = self._random.random() < 0.15
        return one

    def _readings(self) -> list[Request]:
        chance = self._random.choice((0.5, 0.3, 0.25))
        code = self.element()
        return [
            {"code": code, "chance": chance, "fall": self._random.random() < 0.3},
            {"code": self._missed(code), "chance": 1 - chance},
        ]

    def _pass(self, pool: list[str], late: bool) -> Request:
        options: list[str | None] = list(self._random.sample(pool, min(len(pool), self._shape[1])))
        if len(options) > 1 and self._random.random() < 0.2:
            options[-1] = None
        planned = self._random.choice(options)
        if self._random.random() < 0.1:
            planned = self._random.choice(pool)
        one: Request = {"planned": planned, "late": late, "options": options}
        if self._random.random() < 0.3:
            code = self._random.choice(pool)
            one["attempts_after_fall"] = {code: self._outcomes(code)}
        if self._random.random() < 0.1:
            code = self._random.choice(pool)
            one["attempts"] = {code: self._outcomes(code)}
        return one
