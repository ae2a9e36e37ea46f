"""How well a treatment fits a trace, as one number; knows nothing of records.

Each question is answered between 0 and 1, or not at all. The weight is the product of the answers;
a question without an answer counts one half, and no answer but that of time counts less than 0.05:
records are seldom complete. These numbers are our own judgement, and only order a list.
"""

from datetime import date

UNANSWERED, LEAST = 0.5, 0.05

Days = tuple[date, date]


def open_share(made: Days, work: Days) -> float:
    """How much of the time in which a treatment can have been is open to the trace, 0 to 1."""
    common = (min(made[1], work[1]) - max(made[0], work[0])).days + 1
    return max(common, 0) / ((work[1] - work[0]).days + 1)


def weight(time: float, *answers: float | None) -> float:
    """The weight of a candidate from the answer of time and those of all other questions."""
    for answer in answers:
        time *= UNANSWERED if answer is None else max(answer, LEAST)
    return time
