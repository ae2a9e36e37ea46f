"""The room Surface: a face with its pictures and everything recorded on it, to scale."""

from collections import Counter
from typing import Any

from django.core.paginator import Paginator
from django.db.models import F, FloatField, Func, Q
from django.db.models.functions import Length
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.http import content_disposition_header

from analyses.curves import with_curves
from analyses.forms.sampling import SamplingPointForm
from analyses.models import Analysis, Identification, SamplingPoint
from records import signs
from records.access import Access, signed_in
from records.forms.objects import ZoneForm
from records.forms.surface import TraceChoice, WindowForm
from records.forms.traces import SightingForm, TraceForm
from records.models import Face, Image, Object, Placement, Trace, TraceKind, TreatmentArea, Zone
from records.placing import drawn
from records.surface import PLACES, places_geojson, traces_geojson, whole
from records.templatetags.records import edtf_short
from records.trail import may_write
from records.views.base import NewRecord, frame
from records.views.traces import sightings_of

STANDING = Q(withdrawn_at__isnull=True)
LISTED = 60
Json = dict[str, Any]


class Surface(Access):
    """One face: its pictures, its traces on a map and, for whoever sees none, in a list."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        faces = list(Face.objects.filter(STANDING, object=item).select_related("mirror_of"))
        context = frame(request, item) | {"room": "surface", "faces": faces}
        if not faces:
            return render(request, "records/object/surface_empty.html", context)
        face = self._face(request, faces)
        user = signed_in(request)
        context |= {
            "face": face,
            "width_mm": face.size_mm[0],
            "height_mm": face.size_mm[1],
            "behind": face.other_side,
            "choice": TraceChoice(request.GET, face=face),
            "may_draw": may_write(user, Trace),
            "may_sample": may_write(user, SamplingPoint),
            "set_up": set_up(face, request),
        }
        context["pictures"] = context["set_up"]["pictures"]
        context["behind_pictures"] = (context["set_up"]["behind"] or {}).get("pictures", [])
        return render(request, "records/object/surface.html", context | listed(request, face))

    def _face(self, request: HttpRequest, faces: list[Face]) -> Face:
        """The face asked for, or that of the trace or sampling point asked for, or the first."""
        wanted = request.GET.get("face", "")
        for name, model in (("trace", Trace), ("point", SamplingPoint), ("zone", Zone)):
            if not wanted and (key := request.GET.get(name, "")).isdigit():
                found = model._default_manager.filter(pk=int(key)).values_list("face_id").first()
                wanted = str(found[0]) if found else ""
        return next((face for face in faces if str(face.pk) == wanted), faces[0])


def set_up(face: Face, request: HttpRequest) -> Json:
    """What the map needs to know before it asks for shapes."""
    width, height = face.size_mm
    behind = face.other_side
    return {
        "face": face.pk,
        "width": width,
        "height": height,
        "outline": face.outline.coords,
        "pictures": pictures_on(face),
        "behind": {"pictures": pictures_on(behind)} if behind else None,
        "kinds": signs_of(face.object_id),
        "signs": {
            "tile": signs.TILE,
            "areas": signs.AREA_PATTERNS,
            "lines": signs.LINE_STYLES,
            "points": signs.POINT_GLYPHS,
        },
        "addresses": {
            "traces": reverse("face-trace-shapes", args=[face.pk]),
            "shapes": reverse("face-shapes", args=[face.pk, "WHAT"]),
            "trace": reverse("trace-beside", args=[0]),
            "place": reverse("place-beside", args=["WHAT", 0]),
            "behindTraces": reverse("face-trace-shapes", args=[behind.pk]) if behind else "",
        },
        "asked": {
            name: int(key)
            for name in ("trace", "point", "zone", "image")
            if (key := request.GET.get(name, "")).isdigit()
        },
    }


def pictures_on(face: Face) -> list[Json]:
    """The images placed on a face whose tiles are made: how each is named, and where it lies."""
    placed = (
        Placement.objects.filter(STANDING, face=face, image__withdrawn_at__isnull=True)
        .exclude(image__pyramid="")
        .select_related("image__examination__technique", "face")
        .annotate(plain=Q(image__examination__technique__code__startswith="visible"))
        .order_by(F("plain").desc(nulls_last=True), "-image__kind", "-image__date_earliest", "pk")
    )
    pictures: list[Json] = []
    for placement in placed:
        if not (shown := drawn(placement)):
            continue
        image: Image = placement.image
        words = edtf_short(image.dated) or "no date"
        pictures.append(
            shown
            | {
                "image": image.pk,
                "placement": placement.pk,
                "name": f"{image.title} ({words})",
                "off": round(placement.uncertainty_mm, 2),
            }
        )
    return pictures


def signs_of(object_id: int) -> list[Json]:
    """Each kind of trace on the object with its place in the list of patterns, as in print."""
    kinds = TraceKind.objects.filter(
        traces__face__object_id=object_id, traces__withdrawn_at__isnull=True
    )
    counted: Counter[tuple[str, str]] = Counter()
    told = []
    for kind in kinds.distinct().order_by("code"):
        told.append(
            {
                "id": kind.pk,
                "label": kind.label,
                "short": kind.short,
                "family": kind.family,
                "shape": kind.shape,
                "index": counted[kind.family, kind.shape],
            }
        )
        counted[kind.family, kind.shape] += 1
    return told


def listed(request: HttpRequest, face: Face) -> Json:
    """A page of the list of traces that stands beside the map."""
    wanted = TraceChoice(request.GET, face=face).choice().of(face)
    rows = wanted.select_related("kind").defer("shape").order_by(Length("number"), "number", "pk")
    page = Paginator(rows, LISTED).get_page(request.GET.get("page"))
    return {"face": face, "page_obj": page, "traces": page.object_list}


class FaceTraces(Access):
    """The list beside the map, narrowed while one types."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        face = get_object_or_404(Face, pk=pk)
        return render(request, "records/object/surface_list.html", listed(request, face))


class TraceShapes(Access):
    """The traces of a face in the window of a map, as GeoJSON in face millimetres."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        face = get_object_or_404(Face, pk=pk)
        asked = WindowForm(request.GET)
        if not asked.is_valid():
            return JsonResponse({"errors": asked.errors}, status=400)
        text = traces_geojson(
            face,
            asked.window(),
            TraceChoice(request.GET, face=face).choice(),
            behind=asked.cleaned_data["behind"],
        )
        return HttpResponse(text, content_type="application/geo+json")


class SaveTraces(Access):
    """The traces of a face that the filters choose, whole and unsimplified, as a GeoJSON file."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        face = get_object_or_404(Face.objects.select_related("object"), pk=pk)
        text = traces_geojson(
            face, whole(face), TraceChoice(request.GET, face=face).choice(), most=None
        )
        name = f"{face.object.accession_number} {face}.geojson"
        return HttpResponse(
            text,
            content_type="application/geo+json",
            headers={"Content-Disposition": content_disposition_header(True, name) or ""},
        )


class PlaceShapes(Access):
    """The zones, sampling points or treated areas of a face, as GeoJSON in face millimetres."""

    def get(self, request: HttpRequest, pk: int, what: str) -> HttpResponse:
        if what not in PLACES:
            raise Http404("A face has traces, zones, points and areas.")
        text = places_geojson(get_object_or_404(Face, pk=pk), what)
        return HttpResponse(text, content_type="application/geo+json")


class TraceBeside(Access):
    """What is known of a trace, in the panel beside the map."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        traces = Trace.objects.select_related("kind", "face").defer("face__outline")
        trace = get_object_or_404(traces, pk=pk)
        context = {
            "record": trace,
            "object_id": trace.face.object_id,
            "entity": f"trace:{trace.pk}",
            "extent": ",".join(f"{mm:.1f}" for mm in trace.shape.extent) if trace.shape else "",
            "sightings": [s for s in sightings_of(trace) if not s.is_withdrawn][::-1],
            "over": trace.relations_down.filter(STANDING).select_related("lower__kind"),
            "under": trace.relations_up.filter(STANDING).select_related("upper__kind"),
            "effects": trace.effects.filter(STANDING).select_related("treatment", "occurrence"),
            "may_draw": may_write(signed_in(request), Trace),
            "saved": "saved" in request.GET,
        }
        return render(request, "records/object/surface_trace.html", context)


class PlaceBeside(Access):
    """What is known of a zone, a sampling point or a treated area, in the panel beside the map."""

    def get(self, request: HttpRequest, what: str, pk: int) -> HttpResponse:
        gather = {"zones": self.zone, "points": self.point, "areas": self.area}.get(what)
        if gather is None:
            raise Http404("A place is a zone, a sampling point or a treated area.")
        context = gather(pk) | {"saved": "saved" in request.GET}
        return render(request, f"records/object/surface_{what[:-1]}.html", context)

    def zone(self, pk: int) -> Json:
        zones = Zone.objects.select_related("face").annotate(
            area_mm2=Func("geometry", function="ST_Area", output_field=FloatField())
        )
        return {"record": get_object_or_404(zones, pk=pk)}

    def point(self, pk: int) -> Json:
        points = SamplingPoint.objects.select_related("campaign", "taken_by", "trace")
        record = get_object_or_404(points, pk=pk)
        found = Identification.objects.standing().at_point(record)
        found = found.select_related("material", "layer", "sample")
        analyses = Analysis.objects.at_point(record).select_related("technique")
        return {
            "record": record,
            "samples": record.samples.filter(STANDING),
            "curves": with_curves(analyses.select_related("sample", "layer__preparation")),
            "identifications": found.order_by(F("layer__number").asc(nulls_first=True), "pk"),
        }

    def area(self, pk: int) -> Json:
        areas = TreatmentArea.objects.select_related("treatment__kind").defer("geometry")
        return {"record": get_object_or_404(areas, pk=pk)}


class DrawTrace(NewRecord):
    """The form of a trace that has just been drawn, in the panel beside the map."""

    form_class = TraceForm
    parent, link = Face, "face"
    template = "records/object/surface_draw.html"

    def title(self, record: Any) -> str:
        return "New trace"

    def next_address(self, form: Any) -> str:
        return f"{reverse('trace-beside', args=[form.instance.pk])}?saved=1"


class DrawSighting(NewRecord):
    """The form of a sighting of a known trace, whose shape has just been drawn."""

    form_class = SightingForm
    parent, link = Trace, "trace"
    template = "records/object/surface_draw.html"

    def title(self, record: Any) -> str:
        return f"New sighting of {record.trace}"

    def next_address(self, form: Any) -> str:
        return f"{reverse('trace-beside', args=[form.instance.trace_id])}?saved=1"


class DrawZone(NewRecord):
    """The form of a zone that has just been drawn."""

    form_class = ZoneForm
    parent, link = Face, "face"
    template = "records/object/surface_draw.html"

    def title(self, record: Any) -> str:
        return "New zone"

    def next_address(self, form: Any) -> str:
        return f"{reverse('place-beside', args=['zones', form.instance.pk])}?saved=1"


class DrawPoint(NewRecord):
    """The form of a sampling point that has just been set, in the panel beside the map."""

    form_class = SamplingPointForm
    parent, link = Face, "face"
    template = "records/object/surface_draw.html"

    def title(self, record: Any) -> str:
        return "New sampling point"

    def next_address(self, form: Any) -> str:
        return f"{reverse('place-beside', args=['points', form.instance.pk])}?saved=1"
