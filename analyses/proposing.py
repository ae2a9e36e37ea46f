"""From the records of a place to what `analyses.proposals` ranks, and from a proposal to a record.

A reading bears on the target it was made on; one made on what the target is a part of (the sample
of a layer, the point of a sample) saw more than the target.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from analyses.choices import Decision, ReadingKind
from analyses.models import Analysis, Identification, Layer, Sample, SamplingPoint
from analyses.proposals import Candidate, Looked, Outcome, Proposal, Read, Sight, Target, propose
from analyses.spectra.diffraction import phases
from analyses.spectra.findings import Certainty
from records.changes import change
from records.choices import MaterialDateKind, Trust
from records.models import Material, User
from records.reconstruction.gather import gather
from records.reconstruction.store import shown

Place = Layer | Sample | SamplingPoint
STANDING = Q(withdrawn_at__isnull=True)
SIGHTS = {
    "xrf": Sight.XRF,
    "sem_edx": Sight.SEM_EDX,
    "xrd": Sight.XRD,
    "ftir": Sight.FTIR,
    "optical_microscopy": Sight.EYE,
}
KINDS = {"element": "element", "phase": "phase", "band": "band"}
COLOURS = {
    *("white", "black", "grey", "brown", "red", "orange", "yellow", "green", "blue", "violet"),
    *("colourless", "metallic"),
}


@dataclass(frozen=True, slots=True)
class Proposed:
    """An outcome for a place, with the readings that its codes stand for."""

    place: Place
    outcome: Outcome
    readings: dict[tuple[str, str, str], int]


def proposals_for(place: Place) -> Proposed:
    """What the material list offers for all that was read at a place; nothing is written."""
    looked, read, readings = _read(place)
    read += _colours(place, looked)
    last, words = _no_later(place)
    target = Target(tuple(looked), tuple(read), last, words)
    return Proposed(place, propose(target, candidates()), readings)


def candidates() -> list[Candidate]:
    """The standing materials as they show themselves, in two queries."""
    first: dict[int, tuple[date, str]] = {}
    materials = Material.objects.filter(STANDING).prefetch_related("dates")
    found = []
    for material in materials:
        for known in material.dates.all():
            attested = known.kind == MaterialDateKind.FIRST_ATTESTED and not known.is_withdrawn
            if attested and known.date_earliest:
                words = f"first attested {known.date} ({known.source})"
                # Views differ: the earliest bounds the doubt.
                if material.pk not in first or known.date_earliest < first[material.pk][0]:
                    first[material.pk] = (known.date_earliest, words)
        day, words = first.get(material.pk, (None, ""))
        found.append(
            Candidate(
                material.code,
                material.label,
                material.group,
                frozenset(material.marks),
                frozenset(material.elements),
                frozenset(material.phases),
                frozenset(material.bands),
                frozenset(material.colours),
                day,
                words,
            )
        )
    return found


def _read(place: Place) -> tuple[list[Looked], list[Read], dict[tuple[str, str, str], int]]:
    here, above = _targets(place)
    found = (
        Analysis.objects.filter(STANDING)
        .filter(here | above)
        .select_related("technique")
        .prefetch_related("readings")
    )
    looked, read = [], []
    readings: dict[tuple[str, str, str], int] = {}
    known_phases = {phase.label.lower(): code for code, phase in phases().items()}
    bands = _bands_of_references(found)
    for analysis in found:
        sight = SIGHTS.get(analysis.technique.code)
        if sight is None:
            continue
        key = str(analysis.pk)
        is_here = analysis.target == place
        looked.append(Looked(key, f"{analysis}", sight, is_here))
        for reading in analysis.readings.all():
            kind = KINDS.get(reading.kind)
            if kind is None or reading.is_withdrawn:
                continue
            code = reading.code or reading.label.strip()
            if kind == "phase" and not reading.code:
                lowered = code.lower()
                code = known_phases.get(lowered, lowered.replace(" ", "_"))
            # What a person wrote down without the program is taken at its word.
            certainty = Certainty(reading.certainty) if reading.certainty else Certainty.SURE
            # What resembles a reference has the bands of its material, and says no more than they.
            for group in bands.get(code, [code]) if kind == "band" else [code]:
                read.append(Read(kind, group, certainty, key, reading.label))
                readings.setdefault((kind, group, key), reading.pk)
    return looked, read, readings


def _bands_of_references(found: Iterable[Analysis]) -> dict[str, list[str]]:
    """Of the materials whose reference spectra were recognised the groups of bands, by code."""
    codes = {r.code for one in found for r in one.readings.all() if r.kind == ReadingKind.BAND}
    materials = Material.objects.filter(code__in=codes - {""}, bands__len__gt=0)
    return dict(materials.values_list("code", "bands"))


def _targets(place: Place) -> tuple[Q, Q]:
    """Analyses of the place itself, and of what it is a part of."""
    if isinstance(place, Layer):
        sample = place.preparation.sample
        return Q(layer=place), Q(sample=sample) | Q(point=sample.point)
    if isinstance(place, Sample):
        return Q(sample=place), Q(point=place.point)
    return Q(point=place), Q(pk__in=[])


def _colours(place: Place, looked: list[Looked]) -> list[Read]:
    if not isinstance(place, Layer) or not place.colour:
        return []
    words = set(place.colour.lower().replace("-", " ").replace(",", " ").split())
    seen = sorted(words & COLOURS)
    if seen:
        looked.append(Looked("colour", f"the look of {place}", Sight.EYE))
    # A tone of two colours is mostly that of a mixture: either says less of what is in it.
    certainty = Certainty.LIKELY if len(seen) == 1 else Certainty.POSSIBLE
    return [Read("colour", colour, certainty, "colour", place.colour) for colour in seen]


def _no_later(place: Place) -> tuple[date | None, str]:
    """The last day on which the place can have been made, as the history stands now."""
    trace = getattr(place, "trace", None)
    if trace is None:
        return None, ""
    reconstruction = shown(gather(trace.face.object), Trust.LIKELY).reconstruction
    if reconstruction is None:
        return None, ""
    bounds = reconstruction.result["traces"].get(f"trace:{trace.pk}") or {}
    last = (bounds.get("made") or [None, None])[1]
    if not last:
        return None, ""
    day = date.fromisoformat(last)
    return day, f"{trace} was made by {day:%-d %B %Y} at the latest, as the history stands"


def put_forward(proposed: Proposed, proposal: Proposal, user: User) -> Identification:
    """Record a proposal as an identification that a person has yet to accept or reject."""
    place = proposed.place
    where = {
        Layer: "layer",
        Sample: "sample",
        SamplingPoint: "point",
    }[type(place)]
    with change(user=user, why="Proposed by the program from the readings."):
        found = Identification.objects.create(
            material=Material.objects.get(code=proposal.candidate.code),
            **{where: place},
            trace=place.trace if isinstance(place, SamplingPoint) else None,
            decision=Decision.PROPOSED,
            grounds=told(proposal),
        )
        found.readings.set(
            {
                proposed.readings[read.kind, read.code, read.by]
                for read in proposal.explains
                if (read.kind, read.code, read.by) in proposed.readings
            }
        )
    return found


def told(proposal: Proposal) -> str:
    """The grounds of a proposal as text: for, against, and what would decide."""
    parts = [*proposal.grounds]
    if proposal.against:
        parts += ["Against:", *proposal.against]
    if proposal.decide:
        parts += ["What would decide:", *proposal.decide]
    return "\n".join(parts)
