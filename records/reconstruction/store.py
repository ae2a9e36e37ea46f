"""Computing and keeping reconstructions, and finding the one to show.

A stored reconstruction carries the hash of its case. It is current when the case gathered from the
records now has the same hash, and nothing else decides that.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from time import perf_counter

from django.db.models import Q

from records import history
from records.choices import Trust
from records.models import Object, Reconstruction
from records.reconstruction.evidence import Evidence, sha256
from records.reconstruction.gather import gather

KEPT_BEFORE = 3  # older ones of each degree of trust, to compare with; the rest make room


@dataclass(frozen=True, slots=True)
class Shown:
    """The reconstruction to show, if any, and whether it is that of the records as they are now."""

    reconstruction: Reconstruction | None
    is_current: bool


def shown(evidence: Evidence, trust: str = Trust.ALL) -> Shown:
    """The current reconstruction of an object, or else the latest one before it."""
    stored = Reconstruction.objects.filter(object_id=evidence.object_pk, trust=trust)
    current = stored.filter(
        case_sha256=sha256(evidence.case(trust)), engine_version=history.VERSION
    ).first()
    return Shown(current or stored.first(), current is not None)


def compute(item: Object) -> Iterator[Reconstruction]:
    """Solve the object's case at each degree of trust and keep the results, one by one.

    What is kept already for the same case is not solved again. Raises history.CaseError when the
    engine finds the case malformed.
    """
    evidence = gather(item)
    for trust in Trust.values:
        case = evidence.case(trust)
        key = {
            "object": item,
            "trust": trust,
            "case_sha256": sha256(case),
            "engine_version": history.VERSION,
        }
        kept = Reconstruction.objects.filter(**key).first()
        if kept is None:
            began = perf_counter()
            result = history.solve(history.Case.from_json(case)).to_json()
            seconds = perf_counter() - began
            kept, _ = Reconstruction.objects.get_or_create(
                **key, defaults={"case": case, "result": result, "seconds": seconds}
            )
        yield kept


def tidy(item: Object) -> None:
    """Drop old reconstructions, save the latest few and those that a dossier quotes."""
    quoted = item.dossiers.values("case_sha256")
    for trust in Trust.values:
        stored = Reconstruction.objects.filter(object=item, trust=trust)
        latest = stored.values_list("pk", flat=True)[: KEPT_BEFORE + 1]
        stored.exclude(Q(pk__in=list(latest)) | Q(case_sha256__in=quoted)).delete()
