"""The work on a mosaic: small steps for the task queue, each kept with its result in the database.

Steps of one stage may be taken by any worker on any machine, in any order, and again after a kill;
when the last one is done, the next stage is laid out. All files go through Django's store.
What is computed stands in `records.imaging.mosaic`; here it is gathered, cut into steps and kept.
"""

import hashlib
import json
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import asdict
from functools import lru_cache, partial
from pathlib import Path, PurePath
from typing import Any

import numpy as np
from django.core.files.base import File
from django.core.files.storage import default_storage
from django.db import OperationalError, transaction
from django.utils import timezone

from records.arrivals import KnownError, examine, keep
from records.changes import change
from records.choices import FrameRole, ImageKind, Lens, MosaicLayout, MosaicStage
from records.frames import fetch
from records.imaging import mosaic as imaging
from records.imaging.mosaic.report import Drawn, Link, map_of_residuals
from records.imaging.originals import JPEG2000, OriginalError, readable
from records.kept import at_hand
from records.models import Image, Mosaic, MosaicFrame, MosaicStep

VERSION = "1"  # raise it when a step gives another result for the same inputs
WORKING = (
    MosaicStage.FETCHING,
    MosaicStage.FRAMES,
    MosaicStage.OFFSETS,
    MosaicStage.TIES,
    MosaicStage.BLOCKS,
    MosaicStage.JOINING,
)
# A stage or films laid by hand are out by so much of the overlap, common practice.
SLACK = 0.4
LEAST_SLACK_PX = 16.0
LEAST_BARE = 0.001  # less of a mosaic without a frame is not worth a word


class MosaicError(Exception):
    """The mosaic cannot be made; the message says why and what to do."""


# asking for the work


def begin(item: Mosaic) -> None:
    """Begin or go on with a mosaic; what is done already for the same frames is kept."""
    with transaction.atomic():
        item = Mosaic.objects.select_for_update().get(pk=item.pk)
        if item.stage in WORKING:
            transaction.on_commit(partial(ask_for_open, item.pk))
            # A worker may have died between the last step of a stage and what follows.
            transaction.on_commit(partial(advance, item.pk, MosaicStage(item.stage)))
            return
        fetched = MosaicStep.objects.filter(mosaic=item, stage=MosaicStage.FETCHING)
        # What was refused may be whole by now.
        fetched.filter(result__has_key="refused").update(result=None, done_at=None)
        if fetched.filter(done_at=None).exists():
            Mosaic.objects.filter(pk=item.pk).update(stage=MosaicStage.FETCHING, error="")
            transaction.on_commit(partial(ask_for_open, item.pk))
        else:
            _lay_out_frames(item)


def refused(item: Mosaic) -> list[MosaicStep]:
    """Files of the ingest folder that could not be kept, each with the words of why."""
    steps = MosaicStep.objects.filter(mosaic=item, stage=MosaicStage.FETCHING)
    return list(steps.filter(result__has_key="refused"))


def leave_out(item: Mosaic, step_pk: int) -> None:
    """Go on without a file that was refused; its place in a grid stays empty."""
    MosaicStep.objects.filter(
        mosaic=item, stage=MosaicStage.FETCHING, pk=step_pk, result__has_key="refused"
    ).delete()


def ask_for_open(mosaic_pk: int) -> None:
    """Put every open step into the queue, unless it waits there already."""
    from procrastinate.exceptions import AlreadyEnqueued

    from records.tasks import take_mosaic_step

    for pk in MosaicStep.objects.filter(mosaic=mosaic_pk, done_at=None).values_list(
        "pk", flat=True
    ):
        name = f"mosaic-step-{pk}"
        with suppress(AlreadyEnqueued), transaction.atomic():
            take_mosaic_step.configure(lock=name, queueing_lock=name).defer(step_id=pk)


def _lay_out(
    item: Mosaic, stage: MosaicStage, wanted: Sequence[tuple[dict[str, Any], str]]
) -> None:
    """Make the steps of a stage, keeping those that are done for the same key."""
    mine = MosaicStep.objects.filter(mosaic=item, stage=stage)
    keys = {key for _, key in wanted}
    mine.exclude(key__in=keys).delete()
    there = {step.key: step for step in mine}
    fresh = []
    for number, (inputs, key) in enumerate(wanted):
        if key in there:
            mine.filter(pk=there[key].pk).update(number=number, inputs=inputs)
        else:
            fresh.append(
                MosaicStep(mosaic=item, stage=stage, key=key, number=number, inputs=inputs)
            )
    MosaicStep.objects.bulk_create(fresh)
    Mosaic.objects.filter(pk=item.pk).update(stage=stage, error="")
    # Steps that a killed worker or a failure left open are asked for again.
    if fresh or any(step.done_at is None for step in there.values()):
        transaction.on_commit(partial(ask_for_open, item.pk))
    else:
        transaction.on_commit(partial(advance, item.pk, stage))


def take(step_pk: int) -> None:
    """Take one step, if it is still wanted and open, and lay out the next stage after the last."""
    step = MosaicStep.objects.select_related("mosaic__examination__campaign").filter(pk=step_pk)
    found = step.first()
    if found is None:
        return
    if found.done_at is None:
        try:
            result = TAKES[MosaicStage(found.stage)](found)
        except (MosaicError, imaging.FrameError, OSError) as error:
            fail(found.mosaic_id, f"{found}: {error}")
            return
        except OperationalError:
            raise  # the connection broke: the queue tries again
        except Exception as error:
            words = f"{type(error).__name__}: {error}".rstrip(": ")
            fail(found.mosaic_id, f"{found}: {words}. The task worker's log tells more.")
            raise
        MosaicStep.objects.filter(pk=found.pk).update(result=result, done_at=timezone.now())
    else:
        # Begun again after a kill: the worker may have died before it asked for what follows.
        ask_for_open(found.mosaic_id)
    advance(found.mosaic_id, MosaicStage(found.stage))


def fail(mosaic_pk: int, words: str) -> None:
    """Stop, and say why where people look."""
    Mosaic.objects.filter(pk=mosaic_pk).update(stage=MosaicStage.FAILED, error=words)


def advance(mosaic_pk: int, stage: MosaicStage) -> None:
    """Lay out the stage after this one, if all its steps are done and nobody has done so yet."""
    try:
        with transaction.atomic():
            item = Mosaic.objects.select_for_update().get(pk=mosaic_pk)
            open_steps = MosaicStep.objects.filter(mosaic=item, stage=stage, done_at=None)
            if item.stage == stage and not open_steps.exists():
                FOLLOWS[stage](item)
    except (MosaicError, imaging.FrameError) as error:
        fail(mosaic_pk, str(error))


def progress(item: Mosaic) -> tuple[int, int]:
    """Steps done and steps known of the present stage."""
    steps = MosaicStep.objects.filter(mosaic=item, stage=item.stage)
    return steps.filter(done_at__isnull=False).count(), steps.count()


# frames


def _after_fetching(item: Mosaic) -> None:
    if missing := refused(item):
        words = " ".join(step.result["refused"] for step in missing[:5] if step.result)
        raise MosaicError(
            f"{len(missing)} of the files cannot be frames. {words} What was refused lies in the "
            "ingest folder still: replace it there and try again, or leave it out."
        )
    _lay_out_frames(item)


def _lay_out_frames(item: Mosaic) -> None:
    """Have every frame looked at."""
    sums = _field_sums(item)
    steps = [({"frame": f.pk}, _key("frame", f.sha256, sums)) for f in _frames(item)]
    _lay_out(item, MosaicStage.FRAMES, steps)


def _standing(item: Mosaic) -> Any:
    return item.frames.filter(withdrawn_at=None).select_related("image").order_by("role", "number")


def _frames(item: Mosaic) -> list[MosaicFrame]:
    return list(_standing(item).filter(role=FrameRole.FRAME))


def _field_sums(item: Mosaic) -> list[str]:
    """What dark and flat fields consist of, as a part of keys."""
    others = _standing(item).exclude(role=FrameRole.FRAME)
    return [f"{role}:{digest}" for role, digest in others.values_list("role", "sha256")]


def _key(*parts: Any) -> str:
    told = json.dumps([VERSION, *parts], sort_keys=True)
    return hashlib.sha256(told.encode()).hexdigest()


@contextmanager
def path_of(frame: MosaicFrame) -> Iterator[Path]:
    """The frame's file on this machine, as libvips can read it. Raises FrameError."""
    with ExitStack() as stack:
        kept = stack.enter_context(at_hand(_unpacked(frame) or _file(frame)))
        try:
            path = stack.enter_context(readable(kept))
        except OriginalError as error:
            raise imaging.FrameError(f"It {error}") from error
        yield path


def _file(frame: MosaicFrame) -> Any:
    return frame.image.file if frame.image else frame.file


def _unpacked(frame: MosaicFrame) -> "_Stored | None":
    """What `_look` has laid ready of a frame that libvips cannot read."""
    name = _name_unpacked(frame)
    return _Stored(name) if name and default_storage.exists(name) else None


def _name_unpacked(frame: MosaicFrame) -> str:
    """Where a frame is laid ready that would have to be unpacked a dozen times; '' for others."""
    if PurePath(str(_file(frame).name)).suffix.lower() not in JPEG2000.endings:
        return ""
    return f"mosaics/{frame.mosaic_id}/frames/{frame.sha256[:24]}.tif"


def _fields(item: Mosaic) -> imaging.Fields:
    return _fields_of(item.pk, tuple(_field_sums(item)))


@lru_cache(maxsize=1)
def _fields_of(mosaic_pk: int, sums: tuple[str, ...]) -> imaging.Fields:
    read: dict[str, list[Any]] = {FrameRole.DARK: [], FrameRole.FLAT: []}
    if sums:
        others = MosaicFrame.objects.filter(mosaic=mosaic_pk, withdrawn_at=None)
        for frame in others.exclude(role=FrameRole.FRAME).select_related("image"):
            with path_of(frame) as path:
                read[frame.role].append(imaging.read(path))
    return imaging.fields(read[FrameRole.DARK], read[FrameRole.FLAT])


def _corrected(frame: MosaicFrame, fields: imaging.Fields) -> Any:
    with path_of(frame) as path:
        raw = imaging.read(path)
    _refuse_other_size(raw, fields)
    return fields.correct(raw)


def _refuse_other_size(raw: Any, fields: imaging.Fields) -> None:
    for values in (fields.dark, fields.gain):
        if values is not None and values.shape != raw.shape:
            raise imaging.FrameError(
                f"The dark or flat exposures are {values.shape[1]} × {values.shape[0]} px in "
                f"{values.shape[2]} bands, the frame {raw.shape[1]} × {raw.shape[0]} px in "
                f"{raw.shape[2]}."
            )


def _look(step: MosaicStep) -> dict[str, Any]:
    """Read a frame to its end and say what it is; one that cannot be read is told, no failure."""
    frame = MosaicFrame.objects.select_related("image").get(pk=step.inputs["frame"])
    fields = _fields(step.mosaic)
    if unpacked := _name_unpacked(frame):
        default_storage.delete(unpacked)  # a worker may have been killed while it laid it ready
    try:
        with path_of(frame) as path:
            if unpacked:
                with path.open("rb") as file:
                    default_storage.save(unpacked, File(file))
            head = imaging.header(path)
            raw = imaging.read(path)
        _refuse_other_size(raw, fields)
        seen = imaging.look(fields.correct(raw), raw)
    except (imaging.FrameError, OSError) as error:
        return {"error": str(error)}
    return {"header": asdict(head), "look": asdict(seen), "error": seen.blank}


# overlaps


class _Known:
    """The frames of a mosaic with what was found when they were looked at."""

    def __init__(self, item: Mosaic) -> None:
        self.item = item
        self.frames = _frames(item)
        if len(self.frames) < 2:
            raise MosaicError("A mosaic needs two frames at least.")
        steps = MosaicStep.objects.filter(mosaic=item, stage=MosaicStage.FRAMES)
        results = {step.inputs["frame"]: step.result or {} for step in steps}
        told = [results.get(frame.pk, {"error": "It was not looked at."}) for frame in self.frames]
        self.headers = [imaging.Header(**t["header"]) if "header" in t else None for t in told]
        sums = _field_sums(item)
        one_camera = bool(sums) or item.lens != Lens.NONE
        self.excluded = imaging.strangers(self.headers, one_camera)
        for index, t in enumerate(told):
            if t.get("error"):
                self.excluded[index] = t["error"]
        if len(self.excluded) > len(self.frames) - 2:
            reason, count = Counter(self.excluded.values()).most_common(1)[0]
            raise MosaicError(f"Too few frames can be used. Of {count} it is said: {reason}")
        usual = Counter(
            (h.width_px, h.height_px, h.bands, h.format)
            for index, h in enumerate(self.headers)
            if h and index not in self.excluded
        ).most_common(1)[0][0]
        self.usual = imaging.Header(*usual)
        self.sizes = [
            (h.width_px, h.height_px) if h else (self.usual.width_px, self.usual.height_px)
            for h in self.headers
        ]
        self.index = {frame.pk: k for k, frame in enumerate(self.frames)}

    @property
    def size_array(self) -> Any:
        return np.array(self.sizes, float)

    def nominal(self) -> Any:
        """Middles of all frames as the layout has them, in pixels."""
        item = self.item
        if item.layout == MosaicLayout.GRID:
            places = imaging.grid(
                item.rows or 0,
                item.columns or 0,
                (
                    self.usual.width_px * (1 - (item.overlap_across or 0) / 100),
                    self.usual.height_px * (1 - (item.overlap_down or 0) / 100),
                ),
                item.order,
            )
            numbers = np.array([frame.number for frame in self.frames])
            if numbers.min() < 1 or numbers.max() > len(places):
                raise MosaicError(
                    f"A grid of {item.rows} × {item.columns} has places 1 to {len(places)}; frames "
                    f"are numbered {numbers.min()} to {numbers.max()}. Correct rows and columns, "
                    "or give a table of positions."
                )
            return places[numbers - 1]
        without = [frame.name for frame in self.frames if frame.stage_x is None]
        if without:
            raise MosaicError(
                f"The table has no position for {len(without)} of the frames: "
                f"{', '.join(without[:5])}. Add them, or leave these frames out."
            )
        places = np.array([[frame.stage_x, frame.stage_y] for frame in self.frames], float)
        if item.layout == MosaicLayout.STAGE_MM:
            places = places / (item.pixel_mm or 1.0) * [1, -1]
        return places

    def slack_px(self) -> float:
        """How far a frame may be from where the layout has it."""
        longest = max(self.usual.width_px, self.usual.height_px)
        if self.item.layout != MosaicLayout.GRID:
            return max(LEAST_SLACK_PX, 0.05 * longest)
        shares = (self.item.overlap_across or 0, self.item.overlap_down or 0)
        sides = (self.usual.width_px, self.usual.height_px)
        overlaps = [side * share / 100 for side, share in zip(sides, shares, strict=True)]
        return max(LEAST_SLACK_PX, SLACK * max(overlaps))

    def pairs(self) -> list[imaging.Pair]:
        """Overlaps to search, by the layout; frames that cannot be used have none."""
        nominal = self.nominal()
        nominal[list(self.excluded)] = np.nan
        return imaging.pairs(nominal, self.size_array, least_px=8)

    def plan(self) -> imaging.Plan:
        """Frames laid by the offsets found."""
        pairs = self.pairs()
        results = self.results(MosaicStage.OFFSETS)
        offsets = [imaging.Offset(**results[_numbers(self, pair)]) for pair in pairs]
        return imaging.plan(self.nominal(), self.size_array, pairs, offsets, self.excluded)

    def results(self, stage: MosaicStage) -> dict[tuple[int, int], dict[str, Any]]:
        """Results of the steps of a stage, by the two frames that each was about."""
        steps = MosaicStep.objects.filter(mosaic=self.item, stage=stage)
        return {(s.inputs["first"], s.inputs["second"]): s.result or {} for s in steps}

    def wanted(self, kind: str, pairs: Sequence[imaging.Pair], *more: Any) -> list[Any]:
        """Steps about pairs, with their keys."""
        sums = _field_sums(self.item)
        steps = []
        for pair in pairs:
            first, second = self.frames[pair.first], self.frames[pair.second]
            inputs = {
                "first": first.pk,
                "second": second.pk,
                "dx": round(pair.dx, 3),
                "dy": round(pair.dy, 3),
            }
            way = (inputs["dx"], inputs["dy"])
            steps.append((inputs, _key(kind, first.sha256, second.sha256, sums, way, *more)))
        return steps


def _numbers(known: _Known, pair: imaging.Pair) -> tuple[int, int]:
    return known.frames[pair.first].pk, known.frames[pair.second].pk


def _after_frames(item: Mosaic) -> None:
    known = _Known(item)
    pairs = known.pairs()
    if not pairs:
        raise MosaicError("By the layout no two frames overlap: check overlaps and positions.")
    slack = round(known.slack_px(), 1)
    steps = known.wanted("offset", pairs, slack)
    _lay_out(item, MosaicStage.OFFSETS, [({**i, "slack": slack}, key) for i, key in steps])


def _two(step: MosaicStep) -> list[Any]:
    frames = MosaicFrame.objects.select_related("image").in_bulk(
        [step.inputs["first"], step.inputs["second"]]
    )
    fields = _fields(step.mosaic)
    return [_corrected(frames[step.inputs[name]], fields) for name in ("first", "second")]


def _search(step: MosaicStep) -> dict[str, Any]:
    """Search one overlap."""
    first, second = (imaging.grey(values) for values in _two(step))
    told = step.inputs
    return asdict(imaging.find_offset(first, second, told["dx"], told["dy"], told["slack"]))


def _after_offsets(item: Mosaic) -> None:
    known = _Known(item)
    plan = known.plan()
    pairs = imaging.pairs(plan.middles, known.size_array)
    if not pairs:
        named = "; ".join(f"{known.frames[k].name}: {why}" for k, why in list(plan.why.items())[:3])
        raise MosaicError(f"No overlap was recognised. {named}")
    _lay_out(item, MosaicStage.TIES, known.wanted("ties", pairs))


def _measure(step: MosaicStep) -> dict[str, Any]:
    """Measure one overlap."""
    first, second = _two(step)
    return imaging.find_ties(first, second, step.inputs["dx"], step.inputs["dy"]).to_json()


# all together


def _after_ties(item: Mosaic) -> None:
    """Adjust and even all frames, keep the report, and lay out the blocks of the mosaic."""
    known = _Known(item)
    plan = known.plan()
    pairs = imaging.pairs(plan.middles, known.size_array)
    results = known.results(MosaicStage.TIES)
    ties = [imaging.Ties.from_json(results[_numbers(known, pair)]) for pair in pairs]
    adjusted = imaging.adjust(
        known.sizes,
        plan,
        pairs,
        ties,
        freedom=item.freedom,
        camera=imaging.Camera(item.k1 or 0, item.k2 or 0) if item.lens == Lens.GIVEN else None,
        estimate_lens=item.lens == Lens.ESTIMATED,
    )
    placed = [k for k, place in enumerate(adjusted.places) if place]
    if len(placed) < 2:
        raise MosaicError("No two frames hold together: see the reasons at the frames.")
    kept = [k for k, p in enumerate(pairs) if {p.first, p.second} <= set(placed)]
    evening = imaging.even(
        known.sizes,
        [pairs[k] for k in kept],
        [ties[k] for k in kept],
        exposure=item.even_exposure,
        falloff=item.even_falloff,
    )
    extent = imaging.canvas([adjusted.mapping(k, *known.sizes[k]) for k in placed])
    seams = dict(zip(((pairs[k].first, pairs[k].second) for k in kept), evening.seams, strict=True))
    report = _report(known, adjusted, evening, extent, seams)
    for k, frame in enumerate(known.frames):
        place = adjusted.places[k]
        MosaicFrame.objects.filter(pk=frame.pk).update(
            place=place.to_json() if place else None, unplaced_why=adjusted.why.get(k, "")
        )
    Mosaic.objects.filter(pk=item.pk).update(report=report)
    digest = _key(report, [frame.sha256 for frame in known.frames], _field_sums(item))
    blocks = [({"block": list(block)}, _key("block", digest, block)) for block in extent.blocks()]
    _lay_out(item, MosaicStage.BLOCKS, blocks)


def _report(
    known: _Known,
    adjusted: imaging.Adjusted,
    evening: imaging.Evening,
    extent: imaging.Canvas,
    seams: dict[tuple[int, int], float | None],
) -> dict[str, Any]:
    """All that was worked out, as it is kept and handed out."""
    pixel_mm = known.item.pixel_mm
    range_ = known.usual.range or 1.0
    compared = [seam for seam in seams.values() if seam is not None]
    nowhere = (np.nan, np.nan)
    middles = np.array([(p.x, p.y) if p else nowhere for p in adjusted.places], float)
    expected = imaging.expected(known.nominal(), middles)
    frames = []
    for k, frame in enumerate(known.frames):
        place, held = adjusted.places[k], adjusted.uncertainty_px[k]
        frames.append(
            {
                "frame": frame.pk,
                "name": frame.name,
                "size": list(known.sizes[k]),
                "place": place.to_json() if place else None,
                # Where the layout would have it beside the others, for one without a place.
                "expected": None if place else expected[k].tolist(),
                "held_px": held,
                "why": adjusted.why.get(k, ""),
            }
        )
    overlaps = [
        asdict(o)
        | {
            "rms_mm": o.rms_px * pixel_mm if pixel_mm else None,
            "seam": seams.get((o.first, o.second)),
        }
        for o in adjusted.overlaps
    ]
    return {
        "version": VERSION,
        "camera": asdict(adjusted.camera),
        "camera_uncertainty": list(adjusted.camera_uncertainty),
        "values": asdict(known.usual),
        "canvas": asdict(extent),
        "frames": frames,
        "overlaps": overlaps,
        "evening": evening.to_json(),
        "rms_px": adjusted.rms_px,
        "rms_mm": adjusted.rms_px * pixel_mm if pixel_mm else None,
        "pixel_mm": pixel_mm,
        # In grey levels of 8 bit, so that it means the same for every depth.
        "seam_median": float(np.median(compared)) * 255 / range_ if compared else None,
    }


# writing


def _mapping(told: dict[str, Any], camera: imaging.Camera) -> imaging.Mapping:
    """The way of a frame of a report to the mosaic."""
    width, height = told["size"]
    return imaging.Mapping(width, height, camera, imaging.Place.from_json(told["place"]))


class _Written:
    """What a report says of the frames to be written."""

    def __init__(self, item: Mosaic) -> None:
        report = item.report or {}
        camera = imaging.Camera(**report["camera"])
        self.extent = imaging.Canvas(**report["canvas"])
        self.header = imaging.Header(**report["values"])
        self.evening = imaging.Evening.from_json(report["evening"])
        self.placed = [k for k, frame in enumerate(report["frames"]) if frame["place"]]
        told = report["frames"]
        self.mappings = [_mapping(told[k], camera) for k in self.placed]
        self.frames = MosaicFrame.objects.select_related("image").in_bulk(
            [told[k]["frame"] for k in self.placed]
        )
        self.keys = [told[k]["frame"] for k in self.placed]


def _write(step: MosaicStep) -> dict[str, Any]:
    """Write one block into the store."""
    item = step.mosaic
    written = _Written(item)
    x, y, width, height = step.inputs["block"]
    block = (x, y, width, height)
    with ExitStack() as stack, tempfile.TemporaryDirectory() as desk:
        laid = []
        for k in imaging.reaching(written.mappings, written.extent, block):
            path = stack.enter_context(path_of(written.frames[written.keys[k]]))
            laid.append(imaging.Laid(written.placed[k], path, written.mappings[k]))
        values, covered = imaging.blend(
            laid,
            written.extent,
            block,
            _fields(item),
            written.evening,
            written.header.bands,
        )
        made = Path(desk) / "block.tif"
        imaging.save_block(imaging.in_format(values, written.header.format), made)
        name = f"mosaics/{item.pk}/{step.key[:24]}.tif"
        # A worker killed after storing leaves the same block behind.
        default_storage.delete(name)
        with made.open("rb") as file:
            name = default_storage.save(name, File(file))
    return {"file": name, "covered": float(np.mean(covered))}


def _after_blocks(item: Mosaic) -> None:
    steps = MosaicStep.objects.filter(mosaic=item, stage=MosaicStage.BLOCKS).order_by("number")
    keys = list(steps.values_list("key", flat=True))
    _lay_out(item, MosaicStage.JOINING, [({}, _key("join", keys, item.pixel_mm, item.title))])


def _join(step: MosaicStep) -> dict[str, Any]:
    """Put the blocks together and keep the mosaic as an image of the examination."""
    item = step.mosaic
    written = _Written(item)
    blocks = MosaicStep.objects.filter(mosaic=item, stage=MosaicStage.BLOCKS).order_by("number")
    # Of a mosaic with a gap, people have to know that its black is none of the object's.
    areas = [block.inputs["block"][2] * block.inputs["block"][3] for block in blocks]
    shares = [(block.result or {})["covered"] for block in blocks]
    item.report = (item.report or {}) | {"covered": float(np.average(shares, weights=areas))}
    Mosaic.objects.filter(pk=item.pk).update(report=item.report)
    with ExitStack() as stack, tempfile.TemporaryDirectory() as desk:
        paths = [
            stack.enter_context(at_hand(_Stored(block.result["file"])))  # type: ignore[index]
            for block in blocks
        ]
        with path_of(written.frames[written.keys[0]]) as path:
            profile = imaging.profile_of(path)
        made = Path(desk) / "mosaic.tif"
        imaging.join(paths, written.extent, made, profile=profile, pixel_mm=item.pixel_mm)
        image = _kept(item, made)
    Mosaic.objects.filter(pk=item.pk).update(result=image)
    return {"image": image.pk, "sha256": image.sha256}


class _Stored:
    """A file of the store that no record speaks of, with what a field's file has."""

    def __init__(self, name: str) -> None:
        self.name, self.storage = name, default_storage

    @property
    def path(self) -> str:
        return self.storage.path(self.name)

    def open(self, mode: str = "rb") -> Any:
        return self.storage.open(self.name, mode)


def _kept(item: Mosaic, made: Path) -> Image:
    object_ = item.examination.campaign.object
    frames = len((item.report or {})["frames"])
    placed = sum(1 for frame in (item.report or {})["frames"] if frame["place"])
    try:
        examined = examine(made, f"mosaic-{item.pk}.tif", object_)
    except KnownError as known:
        return known.image
    described = {
        "kind": ImageKind.TECHNICAL,
        "examination_id": item.examination_id,
        "title": item.title,
        "note": told_in_note(item, placed, frames),
    }
    with change(user=None, why=f"joined from {placed} frames"):
        return keep(examined, object_, described)


def told_in_note(item: Mosaic, placed: int, frames: int) -> str:
    """How an image was made, for those who find it without its mosaic."""
    report = item.report or {}
    lines = [
        f"Mosaic of {placed} frames" + (f" of {frames} given." if frames > placed else "."),
        f"Residual in the overlaps: {report['rms_px']:.2f} px root mean square"
        + (f", {report['rms_mm']:.3f} mm." if report["rms_mm"] is not None else "."),
        f"Frames: {item.get_freedom_display().rstrip('.')}.",
    ]
    if item.lens != Lens.NONE:
        c = report["camera"]
        lines.append(
            f"Radial distortion ({item.get_lens_display().lower()}): k1 = {c['k1']:.5f}, "
            f"k2 = {c['k2']:.5f}; radius in half diagonals."
        )
    roles = Counter(_standing(item).exclude(role=FrameRole.FRAME).values_list("role", flat=True))
    if roles:
        lines.append(
            f"Corrected by {roles[FrameRole.DARK]} dark and {roles[FrameRole.FLAT]} flat exposures."
        )
    if (bare := 1 - report["covered"]) > LEAST_BARE:
        lines.append(f"Black where no frame lies: {bare:.1%} of it.")
    if item.even_exposure:
        lines.append("Exposure evened: one gain and one level for each frame and band.")
    return "\n".join(lines)


def _after_joining(item: Mosaic) -> None:
    """Ready; blocks and what was unpacked make room, and can be made again."""
    blocks = MosaicStep.objects.filter(mosaic=item, stage=MosaicStage.BLOCKS)
    names = [result["file"] for result in blocks.values_list("result", flat=True) if result]
    names += [name for frame in _frames(item) if (name := _name_unpacked(frame))]
    MosaicStep.objects.filter(
        mosaic=item, stage__in=[MosaicStage.BLOCKS, MosaicStage.JOINING]
    ).delete()
    Mosaic.objects.filter(pk=item.pk).update(stage=MosaicStage.READY, error="")

    def make_room() -> None:
        for name in names:
            default_storage.delete(name)

    transaction.on_commit(make_room)


TAKES: dict[MosaicStage, Callable[[MosaicStep], dict[str, Any]]] = {
    MosaicStage.FETCHING: fetch,
    MosaicStage.FRAMES: _look,
    MosaicStage.OFFSETS: _search,
    MosaicStage.TIES: _measure,
    MosaicStage.BLOCKS: _write,
    MosaicStage.JOINING: _join,
}
FOLLOWS: dict[MosaicStage, Callable[[Mosaic], None]] = {
    MosaicStage.FETCHING: _after_fetching,
    MosaicStage.FRAMES: _after_frames,
    MosaicStage.OFFSETS: _after_offsets,
    MosaicStage.TIES: _after_ties,
    MosaicStage.BLOCKS: _after_blocks,
    MosaicStage.JOINING: _after_joining,
}


# showing


def map_of(item: Mosaic) -> str:
    """The map of residuals of a mosaic that has a report; '' before."""
    if not item.report:
        return ""
    report = item.report
    camera = imaging.Camera(**report["camera"])
    drawn: list[Drawn] = []
    number: dict[int, int] = {}
    for k, frame in enumerate(report["frames"]):
        known = bool(frame["place"])
        if known:
            number[k] = len(drawn)
        place = imaging.Place.from_json(frame["place"] or frame["expected"])
        outline = _mapping({**frame, "place": place.to_json()}, camera).outline()
        drawn.append(Drawn(frame["name"], outline, np.array([place.x, place.y]), known))
    links = []
    for overlap in report["overlaps"]:
        first, second = overlap["first"], overlap["second"]
        if first in number and second in number:
            names = f"{report['frames'][first]['name']} and {report['frames'][second]['name']}"
            rms = overlap["rms_px"] if overlap["used"] else None
            words = f"{names}: {overlap['why'] or f'{rms:.2f} px'}"
            links.append(Link(number[first], number[second], rms, words))
    return map_of_residuals(drawn, links)
