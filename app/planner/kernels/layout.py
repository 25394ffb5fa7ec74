"""Where everything stands in the words of a state and in the tables. Whole numbers only.

A state is three words:

    a   two bits a tracked jump: 0 none, 1 once solo, 2 once in a unit, 3 spent
    b   the counters of the program, places below
    c   late bonus not yet certain, LATE_BITS a place, the youngest lowest
"""

from __future__ import annotations

from typing import Any, NamedTuple

# Places of the counters in word b. QUOTA: four bits a repeat class, two used and two used within.
BOXES, UNITS, LONGS, SEQS, EULERS, EUCOMB, AXEL = 0, 4, 7, 9, 11, 13, 14
FALLS, LASTFALL, CHANGES, FAMILY, QUOTA = 15, 18, 19, 23, 35
LATE_BITS = 10

# Columns of Tables.rules; masks of the take-offs' jumps from R_FAMILIES on, fall deductions from R_EACH on.
(R_BOXES, R_UNITS, R_SEQS, R_LONGS, R_USUAL, R_MOST, R_REPEAT, R_LATE, R_LAST, R_AXEL, R_FALLS, R_EULERS,
 R_READING, R_FAMILY, R_CHANGES, R_GOE, R_CLASSES, R_PASSES, R_LOW) = range(19)  # fmt: skip
R_FAMILIES, R_EACH, R_COLUMNS = 20, 26, 34
FAMILIES = 6

# Columns of Tables.outcomes; the jumps follow from O_FIRST on, O_WIDTH columns each.
O_BOX, O_JUMPS, O_UNIT, O_SEQ, O_LISTED, O_EULERS, O_AXEL, O_FALL, O_FIRST_EULER, O_FIRST = range(10)
J_SLOT, J_FAMILY, J_CLASS, J_WITHIN, J_VALUE, J_DEAD, J_PLACE, O_WIDTH = range(8)
MOST_JUMPS = 6
O_COLUMNS = O_FIRST + MOST_JUMPS * O_WIDTH

# Columns of Tables.weights.
W_CHANCE, W_GRADE = range(2)

# Columns of Tables.ahead: row i speaks of the passes from i on, P_LATE and P_FALL_SEES of pass i alone;
# executions by take-off from P_FAMILIES on, falls that are alike from P_ALIKE on.
(P_LATE, P_LATE_MOST, P_LATE_LEAST, P_UNITS, P_LONGS, P_SEQS, P_EULERS, P_LEFT, P_FALL_SEES, P_ONE,
 P_TWO, P_FAMILIES) = range(12)  # fmt: skip
P_ALIKE = P_FAMILIES + FAMILIES
P_COLUMNS = P_ALIKE + 8

# Columns of Tables.classes: masks of low bits, quotas (NO_QUOTA: none), whether a solo repeat loses.
C_ALL, C_WITHIN, C_MOST, C_MOST_WITHIN, C_SOLO = range(5)
NO_QUOTA = 9

# Columns of Tables.options: outcomes in general, outcomes after a fall, the outcome "becomes itself", and the
# most changes made before with which it is still open (read only where changes are limited).
X_CHANGE, X_FROM, X_TO, X_FALL_FROM, X_FALL_TO, X_LANDED, X_LIMIT = range(7)

# Columns of Tables.levels: what a looser level forgets, and the jumps it still tracks.
L_DROP, L_KEPT = range(2)
DROP_FALLS, DROP_SOLO, DROP_COUNTERS = 1, 2, 4
EXACT = 0
NEVER = -1e18


class Tables(NamedTuple):
    """Everything the loops read, as numpy arrays."""

    rules: Any
    outcomes: Any
    weights: Any
    ahead: Any
    classes: Any
    options: Any
    spans: Any
    """First option of each pass, and the one behind its last."""
    levels: Any


class Memo(NamedTuple):
    """Solved states of all levels: open addressing; `keys[:, 0]` is 16 x level + pass + 1, 0 an empty place."""

    keys: Any
    value: Any
    row: Any
    """Row of `bounds` and `order`, at the looser levels."""
    count: Any
    """States stored, overflow flag, rows used."""
    bounds: Any
    """No option of the state is worth more."""
    order: Any
    """Options by falling bound."""
