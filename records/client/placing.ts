// Placing an image on a face: points pressed in the one pane and in the other, figures as one works.

import "ol/ol.css";
import type { Coordinate } from "ol/coordinate";
import type Layer from "ol/layer/Layer";
import Feature from "ol/Feature";
import { Polygon } from "ol/geom";
import TileLayer from "ol/layer/Tile";
import VectorLayer from "ol/layer/Vector";
import Projection from "ol/proj/Projection";
import IIIF from "ol/source/IIIF";
import VectorSource from "ol/source/Vector";
import { Fill, Stroke, Style } from "ol/style";
import { Pane, type Deeds, type Mark } from "./placing/pane";
import { Points, type Figures, type Pair } from "./placing/points";
import { apply, faceFrame, inverse, type Matrix } from "./surface/millimetres";
import { pictureLayer } from "./surface/pictures";
import { part, type Picture, type SetUp } from "./surface/setup";
import { layer as recordLayer, Windowed } from "./surface/shapes";
import { Painter } from "./surface/signs";

const WAIT_MS = 250;

interface PlacingSetUp {
  image: { tiles: string; width: number; height: number };
  surface: SetUp;
  pictures: Record<string, Picture & { mirrored: boolean }>;
  addresses: { fit: string; points: string };
}

interface Told {
  said: string;
  short: string;
  rows: Record<string, Figures>;
  matrix: Matrix | null;
}

interface Proposed {
  px: Pair;
  mm: Pair;
}

class Placing {
  private readonly form = part<HTMLFormElement>("placing");
  private readonly reference = part<HTMLSelectElement>("id_reference");
  private readonly points: Points;
  private readonly image: Pane | null;
  private readonly face: Pane | null;
  private readonly frame;
  private proposed: Proposed[] = [];
  private told: Told | null = null;
  private held: number | null = null;
  private asking: AbortController | null = null;
  private timer = 0;

  constructor(private readonly setUp: PlacingSetUp) {
    const { surface } = setUp;
    this.frame = faceFrame(surface.width, surface.height);
    const body = this.form.querySelector<HTMLTableSectionElement>(".points-table tbody");
    if (!body) throw new Error("The page lacks the table of points.");
    this.points = new Points(body, () => this.changed());
    part("panes").hidden = !setUp.image.tiles;
    this.image = setUp.image.tiles ? this.imagePane() : null;
    this.face = setUp.image.tiles ? this.facePane() : null;
    this.listen();
    this.showFace();
    this.changed();
    this.say();
  }

  // The panes

  private imagePane(): Pane {
    const { tiles, width, height } = this.setUp.image;
    const extent = [0, -height, width, 0];
    const projection = new Projection({
      code: "placing-pixels",
      units: "pixels",
      extent,
      getPointResolution: (resolution) => resolution,
    });
    const words = ([column = 0, down = 0]: Coordinate): string => `column ${column.toFixed(1)}, row ${(-down).toFixed(1)} px`;
    const pane = new Pane("image", projection, extent, this.deeds("px"), words, 1 / 16);
    const source = new IIIF({
      url: `${tiles}/`,
      version: "version3",
      size: [width, height],
      tileSize: 512,
      format: "jpg",
      quality: "default",
      projection,
      transition: 0,
    });
    pane.show([new TileLayer({ source })]);
    return pane;
  }

  private facePane(): Pane {
    const { width, height } = this.setUp.surface;
    const words = ([x = 0, y = 0]: Coordinate): string => `x ${x.toFixed(1)}, y ${y.toFixed(1)} mm`;
    return new Pane("face", this.frame, [0, 0, width, height], this.deeds("mm"), words, 0.004);
  }

  private deeds(where: "px" | "mm"): Deeds {
    return {
      pressed: (at) => this.press(where, at),
      moved: (key, at) => this.move(where, key, at),
      held: (key) => this.take(key),
      nudged: (dx, dy) => this.nudge(where, dx, dy),
      removed: () => {
        if (this.held !== null) this.points.remove(this.held);
        this.hold(null);
      },
    };
  }

  // What the points are set on: the outline with its traces, or an image that is placed.
  private showFace(): void {
    if (!this.face) return;
    const { surface, pictures } = this.setUp;
    const picture = pictures[this.reference.value];
    const layers: Layer[] = [this.outline(picture ? null : "#f6f2ea", -1)];
    if (picture) layers.push(pictureLayer(picture, this.frame, picture.mirrored ? surface.width : null));
    layers.push(this.outline(null, 3));
    const traces = part<HTMLInputElement>("with-traces");
    traces.checked = !picture; // over a picture they would hide what one looks for
    const painter = new Painter(surface.kinds, surface.signs, surface.width * surface.height);
    const records = recordLayer((feature, resolution) => painter.trace(feature, resolution, ""), 7, true);
    records.setOpacity(0.5); // what one sets stands out
    records.setVisible(traces.checked);
    const windowed = new Windowed(this.face.map, records, () => surface.addresses.traces, () => undefined);
    traces.onchange = (): void => {
      records.setVisible(traces.checked);
      void windowed.renew();
    };
    layers.push(records);
    this.face.show(layers);
    void windowed.renew();
  }

  private outline(fill: string | null, zIndex: number): Layer {
    const source = new VectorSource({ features: [new Feature(new Polygon(this.setUp.surface.outline))] });
    const style = fill
      ? new Style({ fill: new Fill({ color: fill }) })
      : [
          new Style({ stroke: new Stroke({ color: "rgba(255,255,255,0.8)", width: 3 }) }),
          new Style({ stroke: new Stroke({ color: "#1d1b18", width: 1 }) }),
        ];
    return new VectorLayer({ source, zIndex, style });
  }

  // Setting and moving points

  private press(where: "px" | "mm", at: Coordinate): void {
    const all = this.points.all;
    // A point that stands in the other pane alone waits for its place here.
    let row = all.findIndex((point) => !point[where] && (point.px ?? point.mm));
    if (row < 0) row = this.points.add();
    this.points.set(row, where, place(where, at), this.decimals(where));
    this.hold(row);
  }

  private move(where: "px" | "mm", key: string, at: Coordinate): void {
    const [what, row] = key.split(":");
    if (what !== "row") return;
    this.points.set(Number(row), where, place(where, at), this.decimals(where));
    this.hold(Number(row));
  }

  private take(key: string | null): void {
    const [what, index] = key?.split(":") ?? [];
    if (what === "proposed") this.accept([Number(index)]);
    else this.hold(index === undefined ? null : Number(index));
  }

  private nudge(where: "px" | "mm", dx: number, dy: number): void {
    const at = this.held === null ? null : this.points.all[this.held]?.[where];
    if (this.held === null || !at) return;
    // Rows count downwards.
    const to: Pair = [at[0] + dx, at[1] + (where === "px" ? -dy : dy)];
    this.points.set(this.held, where, to, 2);
    (where === "px" ? this.image : this.face)?.look(coordinate(where, to));
  }

  private hold(row: number | null): void {
    this.held = row;
    this.points.hold(row);
    this.draw();
    this.say();
  }

  // A press is told no finer than it is seen.
  private decimals(where: "px" | "mm"): number {
    const resolution = (where === "px" ? this.image : this.face)?.map.getView().getResolution() ?? 1;
    return Math.min(2, Math.max(0, Math.ceil(-Math.log10(resolution / 2))));
  }

  // Points that the machine proposes

  private accept(indexes: number[]): void {
    for (const index of indexes) {
      const point = this.proposed[index];
      if (point) this.points.accept(point.px, point.mm);
    }
    this.proposed = this.proposed.map((point, index) => (indexes.includes(index) ? { ...point, px: [NaN, NaN] } : point));
    for (const index of indexes) document.querySelector(`[data-accepts="${index}"]`)?.closest("li")?.remove();
    if (!this.waiting.length) this.clearProposed();
    this.draw();
  }

  private get waiting(): number[] {
    return this.proposed.flatMap((point, index) => (Number.isFinite(point.px[0]) ? [index] : []));
  }

  private clearProposed(): void {
    this.proposed = [];
    part("proposal").querySelectorAll("[data-accepts-all], [data-turns-down], details").forEach((one) => one.remove());
    this.draw();
  }

  // Drawing and asking

  private draw(): void {
    if (!this.image || !this.face) return;
    const marks: Record<"px" | "mm", Mark[]> = { px: [], mm: [] };
    const matrix = this.told?.matrix ?? null;
    this.points.all.forEach((point, row) => {
      const doubtful = this.told?.rows[row]?.doubtful ?? false;
      const state = row === this.held ? "held" : doubtful ? "doubtful" : "set";
      const mark = { key: `row:${row}`, label: String(row + 1) };
      for (const where of ["px", "mm"] as const) {
        const at = point[where];
        if (at) marks[where].push({ ...mark, state, at: coordinate(where, at) });
      }
      if (!matrix || !!point.px === !!point.mm) return;
      // The other points foretell where the missing half lies.
      if (point.px) marks.mm.push({ ...mark, state: "foretold", at: apply(matrix, ...point.px) });
      else if (point.mm) marks.px.push({ ...mark, state: "foretold", at: coordinate("px", apply(inverse(matrix), ...point.mm)) });
    });
    for (const index of this.waiting) {
      const point = this.proposed[index];
      if (!point) continue;
      const mark = { key: `proposed:${index}`, label: "", state: "proposed" as const };
      marks.px.push({ ...mark, at: coordinate("px", point.px) });
      marks.mm.push({ ...mark, at: point.mm });
    }
    this.image.mark(marks.px);
    this.face.mark(marks.mm);
    const next = [...marks.px, ...marks.mm].find((mark) => mark.state === "foretold");
    if (next) (marks.px.includes(next) ? this.image : this.face).bringIn(next.at);
  }

  private say(): void {
    const all = this.points.all;
    const half = all.findIndex((point) => !point.px !== !point.mm);
    const waits = all[half];
    let words = "Press a point in the image, then the same point on the face.";
    if (waits) words = `Point ${half + 1}: now press it ${waits.px ? "on the face" : "in the image"}.`;
    else if (this.held !== null) words = `Point ${this.held + 1} is held: arrow keys move it, Delete removes it.`;
    part("panes-words").textContent = words;
  }

  private changed(): void {
    this.draw();
    this.say();
    clearTimeout(this.timer);
    this.timer = window.setTimeout(() => void this.ask(), WAIT_MS);
  }

  private async ask(): Promise<void> {
    this.asking?.abort();
    const asking = (this.asking = new AbortController());
    try {
      const body = new FormData(this.form);
      const response = await fetch(this.setUp.addresses.fit, { method: "POST", body, signal: asking.signal });
      if (!response.ok) throw new Error(`The fit cannot be worked out (${response.status}).`);
      this.told = (await response.json()) as Told;
    } catch (error) {
      if (asking.signal.aborted) return;
      throw error;
    }
    part("placing-said").innerHTML = this.told.said;
    part("fit-short").textContent = this.told.short;
    this.points.tell(this.told.rows);
    this.draw();
  }

  private listen(): void {
    const face = part<HTMLSelectElement>("id_face");
    face.addEventListener("change", () => {
      location.search = `?face=${face.value}`;
    });
    this.reference.addEventListener("change", () => {
      this.proposed = [];
      this.showFace();
      this.changed();
    });
    part("id_method").addEventListener("change", () => this.changed());
    document.addEventListener("htmx:afterSwap", () => {
      const text = document.getElementById("proposed-points")?.textContent;
      this.proposed = text ? (JSON.parse(text) as Proposed[]) : [];
      this.draw();
    });
    this.form.addEventListener("click", (event) => {
      const button = event.target instanceof Element ? event.target.closest<HTMLElement>("button") : null;
      const data = button?.dataset;
      if (!button || !data) return;
      if (data["zoom"]) {
        const [pane, by] = data["zoom"].split(",");
        (pane === "image" ? this.image : this.face)?.zoom(Number(by));
      } else if ("acceptsAll" in data) this.accept(this.waiting);
      else if (data["accepts"]) this.accept([Number(data["accepts"])]);
      else if ("turnsDown" in data) this.clearProposed();
      else if ("goesTo" in data) this.goTo(this.points.indexOf(button));
      else if ("addsPoint" in data) this.points.add();
    });
    for (const button of document.querySelectorAll<HTMLElement>("[data-adds-point]")) button.hidden = false;
  }

  private goTo(row: number): void {
    const point = this.points.all[row];
    if (!point) return;
    this.hold(row);
    if (point.px) this.image?.bringIn(coordinate("px", point.px));
    if (point.mm) this.face?.bringIn(point.mm);
  }
}

// A pane of the image counts rows downwards as negative y.
function coordinate(where: "px" | "mm", [first, second]: Pair): Coordinate {
  return where === "px" ? [first, -second] : [first, second];
}

function place(where: "px" | "mm", [first = 0, second = 0]: Coordinate): Pair {
  return where === "px" ? [first, -second] : [first, second];
}

const text = document.getElementById("placing-set-up")?.textContent;
if (text) addEventListener("DOMContentLoaded", () => new Placing(JSON.parse(text) as PlacingSetUp));
