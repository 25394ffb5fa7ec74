"""Random elements from small pools of jumps, so that quotas collide; every edition is asked with its own."""

from __future__ import annotations

from random import Random


def draw_code(random: Random, names: list[str], euler: str) -> str:
    """A solo jump or a unit from a small pool, so that quotas collide; sometimes broken, with an Euler or popped."""
    jumps = [
        random.choice(names) + random.choice(("", "", "", "<", "<<"))
        for _ in range(random.choice((1, 1, 1, 2, 2, 3, 4)))
    ]
    kind = random.random()
    if kind < 0.04:
        return random.choice(("Lz", "A", f"{jumps[0]}+T", f"{euler}+{jumps[0]}", f"{jumps[0]}+{euler}"))
    if len(jumps) > 1 and kind < 0.12:
        jumps.insert(1, random.choice(("COMBO", "SEQ")))
    elif len(jumps) > 1 and kind < 0.4:
        jumps.insert(random.randint(1, len(jumps) - 1), euler)
    if len(jumps) > 1 and "SEQ" not in jumps and random.random() < 0.3:
        jumps.append("SEQ")
    return "+".join(jumps)


def pool(random: Random, high: int) -> list[str]:
    """Jumps up to one revolution more than the level allows."""
    usual = ("1223", "2233", "3344", "23345", "112", "12")
    turns = random.choice([one for one in usual if int(max(one)) <= high + 1])
    size = random.randint(3, 7)
    return [random.choice(turns.replace("5", "") if take == "A" else turns) + take
            for take in random.choices(("T", "S", "Lo", "F", "Lz", "A", "A"), k=size)]  # fmt: skip
