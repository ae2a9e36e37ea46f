"""Numbers of sampling points, samples and preparations: what a rule proposes next.

A rule is the number as it is written, with signs for what changes: `#` stands for a counter (as
many signs as digits at least: `##` begins at 01), `{object}`, `{point}` and `{sample}` for the
numbers of what it is a part of. The counter goes on from the highest number of that form; gaps stay
gaps, so that no number is given twice. Without a counter the second gets -2, the third -3. What is
proposed can be written over; the database keeps numbers unique.
"""

import re
from collections.abc import Collection, Mapping
from itertools import count
from typing import Any

from django.db.models import F, Q

from analyses.models import NumberingRule, Preparation, Sample, SamplingPoint
from records.models import Object

COUNTER = re.compile(r"#+")
WORD = re.compile(r"\{([^{}]*)\}")
WORDS = {
    "points": ("object",),
    "samples": ("object", "point"),
    "preparations": ("object", "point", "sample"),
}


class RuleError(ValueError):
    """A rule that cannot be followed; the message says what to write instead."""


def check(rule: str, words: Collection[str]) -> None:
    """Refuse a rule with two counters, unknown words, or nothing that changes."""
    if len(COUNTER.findall(rule)) > 1:
        raise RuleError("One counter is enough: write its # signs together, such as P##.")
    unknown = [word for word in WORD.findall(rule) if word not in words]
    if unknown or re.search(r"[{}]", WORD.sub("", rule)):
        offered = ", ".join(f"{{{word}}}" for word in words)
        raise RuleError(f"In braces only these can stand: {offered}.")
    changing = set(words) - {"object"}
    if not COUNTER.search(rule) and not changing & set(WORD.findall(rule)):
        raise RuleError("Write # where the counter stands, such as P#; else all would be alike.")


def next_number(rule: str, words: Mapping[str, str], taken: Collection[str]) -> str:
    """The number that a rule proposes when the numbers `taken` are given already."""
    before, counter, after = _parts(rule, words)
    if not counter:
        return next(
            number
            for n in count(1)
            if (number := before if n == 1 else f"{before}-{n}") not in taken
        )
    form = re.compile(rf"{re.escape(before)}([0-9]{{1,9}}){re.escape(after)}")
    used = [int(found[1]) for number in taken if (found := form.fullmatch(number))]
    return f"{before}{max(used, default=0) + 1:0{counter}}{after}"


def _parts(rule: str, words: Mapping[str, str]) -> tuple[str, int, str]:
    """What stands before the counter, its least digits (0: no counter), and what stands after."""
    found = COUNTER.search(rule)
    start, end = found.span() if found else (len(rule), len(rule))
    before, after = (
        WORD.sub(lambda word: words[word[1]], part) for part in (rule[:start], rule[end:])
    )
    return before, end - start, after


def rule_for(item: Object) -> NumberingRule:
    """The object's own rule, else one like the department's; the latter is not kept yet."""
    rules = NumberingRule.objects.filter(Q(object=item) | Q(object=None))
    found = rules.order_by(F("object").asc(nulls_last=True)).first() or NumberingRule()
    if found.object_id is not None:
        return found
    kept = {name: getattr(found, name) for name in WORDS}
    return NumberingRule(object=item, **kept)


def department_rule() -> NumberingRule:
    """The rule of every object that has none of its own, or the one that departments start with."""
    return NumberingRule.objects.filter(object=None).first() or NumberingRule()


def propose_number(record: SamplingPoint | Sample | Preparation) -> str:
    """The next number for a new record, by the rule of its object; two queries.

    Points are counted over all faces of the object, samples and preparations over the department.
    """
    if isinstance(record, SamplingPoint):
        return next_point(record.face.object)
    taken: Any
    if isinstance(record, Sample):
        words = {"object": record.point.face.object.accession_number, "point": record.point.number}
        rule, taken = rule_for(record.point.face.object).samples, Sample.objects
    else:
        point = record.sample.point
        words = {
            "object": point.face.object.accession_number,
            "point": point.number,
            "sample": record.sample.number,
        }
        rule, taken = rule_for(point.face.object).preparations, Preparation.objects
    begun = taken.filter(number__startswith=_parts(rule, words)[0])
    return next_number(rule, words, set(begun.values_list("number", flat=True)))


def next_point(item: Object) -> str:
    """The next number of a sampling point on any face of an object."""
    taken = SamplingPoint.objects.filter(face__object=item).values_list("number", flat=True)
    return next_number(rule_for(item).points, {"object": item.accession_number}, set(taken))
