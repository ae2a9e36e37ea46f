"""The condition summary: what was measured, as rows of words for tables."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from records import quantities
from records.areas import WHOLE_FACE_SHARE, Extent
from records.choices import Family
from records.models import TraceKind
from records.signs import Sign

FAMILIES = {
    Family.ALTERATION: "alterations",
    Family.INTERVENTION: "interventions",
    Family.MAKING: "traces of making",
}


@dataclass(frozen=True)
class InZone:
    """What of one kind lies in one zone."""

    zone: str
    count: int
    extent: str


@dataclass(frozen=True)
class KindLine:
    """One kind on a face, with the zones where it is found."""

    kind: TraceKind
    sign: Sign
    certain: int
    possible: int
    extent: str
    possible_extent: str
    share: str
    is_coat: bool
    zones: list[InZone]


@dataclass(frozen=True)
class Cover:
    """How much of a place one family covers; shares are per cent."""

    extent: str
    share: float
    possible_share: float


@dataclass(frozen=True)
class ZoneLine:
    """What alterations and interventions together cover of one zone, or of the whole face."""

    name: str
    area: str
    altered: Cover
    treated: Cover


def in_words(extents: Sequence[Extent]) -> str:
    """Area and length of a group; without ± where an uncertainty was never stated."""
    words = []
    for extent in extents:
        known = not extent.uncertain
        if extent.area_mm2:
            off = extent.area_uncertainty_mm2 if known else None
            words.append(quantities.area(extent.area_mm2, off))
        if extent.length_mm:
            off = extent.length_uncertainty_mm if known else None
            words.append(quantities.length(extent.length_mm, off))
    return ", ".join(words)


def kind_lines(
    extents: Sequence[Extent],
    kinds: Mapping[int, TraceKind],
    zones: Sequence[Any],
    face_mm2: float,
    signs: Mapping[int, Sign],
) -> list[KindLine]:
    """One row for each kind, the widest first."""
    groups: dict[tuple[int, int | None], list[Extent]] = defaultdict(list)
    for extent in extents:
        if extent.kind is not None:
            groups[extent.kind, extent.zone].append(extent)

    def line(kind: int) -> KindLine:
        group = groups[kind, None]
        certain = [e for e in group if e.certain]
        possible = [e for e in group if not e.certain]
        covered = sum(e.area_mm2 for e in certain)
        return KindLine(
            kind=kinds[kind],
            sign=signs[kind],
            certain=sum(e.count for e in certain),
            possible=sum(e.count for e in possible),
            extent=in_words(certain),
            possible_extent=in_words(possible),
            share=quantities.share(covered, face_mm2) if covered else "",
            is_coat=covered >= WHOLE_FACE_SHARE * face_mm2,
            zones=[
                InZone(
                    zone.name,
                    sum(e.count for e in groups[kind, zone.pk]),
                    in_words([e for e in groups[kind, zone.pk] if e.certain]),
                )
                for zone in zones
                if (kind, zone.pk) in groups
            ],
        )

    def weight(kind: int) -> tuple[float, float, int]:
        group = groups[kind, None]
        return (
            -sum(e.area_mm2 for e in group),
            -sum(e.length_mm for e in group),
            -sum(e.count for e in group),
        )

    present = {kind for kind, zone in groups if zone is None}
    return [line(kind) for kind in sorted(present, key=weight)]


def zone_lines(face_mm2: float, zones: Sequence[Any], extents: Sequence[Extent]) -> list[ZoneLine]:
    """Rows: the whole face, then each zone, with what each family covers of it."""
    totals = {(e.zone, e.family, e.certain): e for e in extents if e.kind is None}

    def cover(family: str, zone: int | None, mm2: float) -> Cover:
        certain, possible = totals.get((zone, family, True)), totals.get((zone, family, False))
        return Cover(
            in_words([certain]).partition(", ")[0] if certain else "",
            min(100.0, 100 * certain.area_mm2 / mm2) if certain else 0.0,
            min(100.0, 100 * possible.area_mm2 / mm2) if possible else 0.0,
        )

    def line(name: str, zone: int | None, mm2: float) -> ZoneLine:
        altered = cover(Family.ALTERATION, zone, mm2)
        treated = cover(Family.INTERVENTION, zone, mm2)
        return ZoneLine(name, quantities.area(mm2), altered, treated)

    whole = line("Whole face", None, face_mm2)
    return [whole, *(line(z.name, z.pk, z.area_mm2) for z in zones if z.area_mm2 > 0)]
