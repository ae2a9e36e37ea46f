"""All places of an object where material was taken or something measured: a map, a list, a table.

The list names what stands; what is withdrawn is read on its own page.
"""

import csv
import io
from collections import defaultdict
from dataclasses import dataclass
from itertools import pairwise

from django.db.models import Prefetch, Q

from analyses.models import Identification, Preparation, Sample, SamplingPoint
from records.models import Face, Material, Object

STANDING = Q(withdrawn_at__isnull=True)
POISONS = ("Pb", "As", "Hg", "Cd", "Cr")
CHARACTER = 0.55  # of the height of a line: about how wide a letter is
COLUMNS = [
    "face", "point", "x_mm", "y_mm", "date", "material_taken", "permission", "purpose", "taken_by",
    "campaign", "sample", "amount", "remains", "container", "kept_at", "preparations",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Spot:
    """A point on the map: its place and that of its label, in mm from the upper left."""

    point: SamplingPoint
    x: float
    y: float
    label_x: float
    label_y: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """One face with its points; sizes in mm, `letter` and `radius` in proportion to the face."""

    face: Face
    points: tuple[SamplingPoint, ...]
    spots: tuple[Spot, ...]
    outline: str
    width: float
    height: float
    letter: float
    radius: float
    bar: float

    @property
    def margin(self) -> float:
        return 4 * self.letter

    @property
    def view(self) -> str:
        across, down = self.width + 2 * self.margin, self.height + 2 * self.margin
        return f"{-self.margin:.1f} {-self.margin:.1f} {across:.1f} {down:.1f}"

    @property
    def bar_y(self) -> float:
        return self.height + 2 * self.letter


def sheets(item: Object) -> list[Sheet]:
    """Every face that has standing points, with samples and preparations; three queries."""
    preparations = Preparation.objects.filter(STANDING).order_by("number")
    samples = Sample.objects.filter(STANDING).order_by("number")
    samples = samples.prefetch_related(Prefetch("preparations", preparations, to_attr="made"))
    found = (
        SamplingPoint.objects.filter(STANDING, face__object=item)
        .select_related("face", "taken_by", "campaign")
        .prefetch_related(Prefetch("samples", samples, to_attr="taken"))
        .order_by("face__position", "face_id", "pk")
    )
    by_face: dict[int, list[SamplingPoint]] = defaultdict(list)
    for point in found:
        by_face[point.face_id].append(point)
    return [_sheet(sorted(points, key=_in_order)) for points in by_face.values()]


def _in_order(point: SamplingPoint) -> tuple[str, int, str]:
    """P2 before P10."""
    number = point.number
    letters = number.rstrip("0123456789")
    digits = number[len(letters) :]
    return letters, int(digits or 0), number


def _sheet(points: list[SamplingPoint]) -> Sheet:
    face = points[0].face
    _, _, width, height = face.outline.extent
    letter = max(width, height) / 55
    outline = " ".join(f"{x:.1f},{height - y:.1f}" for x, y in face.outline.coords[0])
    return Sheet(
        face, tuple(points), _spots(points, height, letter), outline, width, height,
        letter, letter / 3, _round(width / 4),
    )  # fmt: skip


def _round(length: float) -> float:
    """The longest of 1, 2, 5, 10, 20 … that is not longer."""
    steps = [step * 10.0**power for power in range(-1, 6) for step in (1, 2, 5)]
    return next((a for a, b in pairwise(steps) if a <= length < b), steps[0])


def _spots(points: list[SamplingPoint], height: float, letter: float) -> tuple[Spot, ...]:
    """Labels beside their points, each at the first of four sides that is still free."""
    used = [
        (p.geometry.x - letter / 2, height - p.geometry.y - letter / 2, letter, letter)
        for p in points
    ]
    spots = []
    for point in points:
        x, y = point.geometry.x, height - point.geometry.y
        wide = CHARACTER * letter * len(point.number)
        sides = [
            (x + 0.6 * letter, y - letter / 2),
            (x - 0.6 * letter - wide, y - letter / 2),
            (x - wide / 2, y - 1.6 * letter),
            (x - wide / 2, y + 0.6 * letter),
        ]
        boxes = [(left, top, wide, letter) for left, top in sides]
        box = next((b for b in boxes if not any(_meet(b, other) for other in used)), boxes[0])
        used.append(box)
        spots.append(Spot(point, x, y, box[0], box[1] + 0.8 * letter))
    return tuple(spots)


Box = tuple[float, float, float, float]


def _meet(one: Box, other: Box) -> bool:
    across = one[0] < other[0] + other[2] and other[0] < one[0] + one[2]
    return across and one[1] < other[1] + other[3] and other[1] < one[1] + one[3]


def as_csv(found: list[Sheet]) -> str:
    """One row for every sample, and for every point without one; y from the lower edge.

    It begins with a byte order mark, by which spreadsheets know the text for UTF-8.
    """
    out = io.StringIO()
    out.write("\ufeff")
    rows = csv.writer(out)
    rows.writerow(COLUMNS)
    for sheet in found:
        for point in sheet.points:
            for sample in point.taken or [None]:  # type: ignore[attr-defined]
                rows.writerow(_plain(str(cell)) for cell in _row(sheet.face, point, sample))
    return out.getvalue()


def _row(face: Face, point: SamplingPoint, sample: Sample | None) -> list[object]:
    made = sample.made if sample else []  # type: ignore[attr-defined]
    return [
        face.name, point.number, f"{point.geometry.x:.1f}", f"{point.geometry.y:.1f}",
        point.date, "yes" if point.invasive else "no", point.permission, point.purpose,
        point.taken_by or "", point.campaign or "",
        *((sample.number, sample.amount, sample.remains, sample.container, sample.kept_at)
          if sample else [""] * 5),
        "; ".join(f"{one.number} ({one.get_kind_display().lower()})" for one in made),
    ]  # fmt: skip


def _plain(cell: str) -> str:
    """So that no sheet takes what somebody wrote for a formula."""
    return f"'{cell}" if cell.startswith(("=", "+", "-", "@", "\t")) else cell


def poisons_known(item: Object) -> list[Material]:
    """Poisonous materials that are identified on the object or proposed; one query."""
    named = Identification.objects.of_object(item).filter(STANDING).exclude(decision="rejected")
    return list(
        Material.objects.filter(
            elements__overlap=list(POISONS), pk__in=named.values("material_id")
        ).order_by("label")
    )
