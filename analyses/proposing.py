"""From the records of a place to what `analyses.proposals` ranks, and from a proposal to a record.

A reading bears on the target it was made on; one made on what the target is a part of (the sample
of a layer, the point of a sample) saw more than the target.
"""

import re
from dataclasses import dataclass, replace
from datetime import date
from functools import cache

from django.db.models import Q

from analyses.choices import Decision, ReadingKind
from analyses.models import Analysis, Identification, Layer, Reading, Sample, SamplingPoint
from analyses.proposals import Candidate, Looked, Outcome, Proposal, Read, Sight, Target, propose
from analyses.spectra.diffraction import phases
from analyses.spectra.findings import Certainty
from analyses.spectra.infrared import groups
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
    """An outcome for a place, with the readings that its codes stand for.

    `places_only` are analyses of which bands were written down by their places alone: what they
    belong to nobody has said, so nothing is compared with them.
    """

    place: Place
    outcome: Outcome
    readings: dict[tuple[str, str, str], int]
    places_only: tuple[Analysis, ...] = ()


def proposals_for(place: Place) -> Proposed:
    """What the material list offers for all that was read at a place; nothing is written."""
    found = _Found()
    here, above = _targets(place)
    analyses = Analysis.objects.filter(STANDING).filter(here | above)
    for analysis in analyses.select_related("technique").prefetch_related("readings"):
        found.take(analysis, analysis.target == place)
    found.resolve_references()
    found.read += _colours(place, found.looked)
    last, words = _no_later(place)
    target = Target(tuple(found.looked), tuple(found.read), last, words)
    outcome = propose(target, candidates())
    return Proposed(place, outcome, found.readings, tuple(found.places_only))


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


class _Found:
    """What was looked at and read, while it is being gathered."""

    def __init__(self) -> None:
        self.looked: list[Looked] = []
        self.read: list[Read] = []
        self.readings: dict[tuple[str, str, str], int] = {}
        self.places_only: list[Analysis] = []

    def take(self, analysis: Analysis, is_here: bool) -> None:
        """An analysis with its readings, as far as they say what was there."""
        sight = SIGHTS.get(analysis.technique.code)
        if sight is None:
            return
        standing = [one for one in analysis.readings.all() if not one.is_withdrawn]
        codes = [(one, code) for one in standing for code in _codes(one)]
        bands = [one for one in standing if one.kind == ReadingKind.BAND]
        if bands and not codes:
            self.places_only.append(analysis)
            return
        key = str(analysis.pk)
        self.looked.append(Looked(key, f"{analysis}", sight, is_here))
        for reading, code in codes:
            self._add(KINDS[reading.kind], code, key, reading)

    def _add(self, kind: str, code: str, key: str, reading: Reading) -> None:
        # What a person wrote down without the program is taken at its word.
        certainty = Certainty(reading.certainty) if reading.certainty else Certainty.SURE
        self.read.append(Read(kind, code, certainty, key, reading.label))
        self.readings.setdefault((kind, code, key), reading.pk)

    def resolve_references(self) -> None:
        """What resembles a reference has the bands of its material, and says no more than they."""
        codes = {read.code for read in self.read if read.kind == "band"}
        materials = Material.objects.filter(code__in=codes, bands__len__gt=0)
        bands = dict(materials.values_list("code", "bands"))
        resolved = []
        for read in self.read:
            groups = bands.get(read.code, [read.code]) if read.kind == "band" else [read.code]
            for group in groups:
                resolved.append(replace(read, code=group))
                pk = self.readings[read.kind, read.code, read.by]
                self.readings.setdefault((read.kind, group, read.by), pk)
        self.read = resolved


def _codes(reading: Reading) -> list[str]:
    """What a reading says was there; of a band written down by its place alone nothing."""
    if reading.kind not in KINDS:
        return []
    if reading.code:
        return [reading.code]
    words = reading.label.strip()
    if reading.kind == ReadingKind.ELEMENT:
        return [words]
    known = _phases_by_name() if reading.kind == ReadingKind.PHASE else _groups_by_name()
    parts = [part.strip() for part in re.split(r",| and ", words.lower())]
    if all(part in known for part in parts):
        return [known[part] for part in parts]
    if reading.kind == ReadingKind.PHASE:
        return [words.lower().replace(" ", "_")]
    return []


@cache
def _phases_by_name() -> dict[str, str]:
    found = {phase.label.lower(): code for code, phase in phases().items()}
    return found | {code.replace("_", " "): code for code in phases()}


@cache
def _groups_by_name() -> dict[str, str]:
    found = {group.label.lower(): group.code for group in groups()}
    return found | {code.replace("_", " "): code for code in found.values()}


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
