// Drawing by mouse, finger, pen or keyboard: new traces, sightings, zones, sampling points, measures.
//
// A finished sketch goes into the form in the panel as text; the text can be changed, and the sketch
// follows it. The keyboard works too: arrows move the face under the cross in the middle, the space
// bar sets a corner there.

import Feature from "ol/Feature";
import type Map from "ol/Map";
import WKT from "ol/format/WKT";
import { LineString, Point, Polygon, type Geometry } from "ol/geom";
import { Draw, Modify } from "ol/interaction";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import { inWords } from "./millimetres";
import { part, type Shape } from "./setup";
import { sketchStyle } from "./signs";

const TYPES = { point: "Point", line: "LineString", polygon: "Polygon" } as const;
const LEAST = { point: 1, line: 2, polygon: 3 } as const;

// What becomes of a sketch: it is measured, it opens a form in the panel, or it goes to whoever asked.
export interface Task {
  what: "measure" | "form" | "shape";
  words: string;
  address: string;
  shape: Shape;
  done?: (geometry: Geometry) => void;
}

export class Drawing {
  private readonly source = new VectorSource<Feature>();
  private readonly strip = part("draw-strip");
  private draw: Draw | null = null;
  private task: Task | null = null;
  private sketch: Feature | null = null;

  constructor(
    private readonly map: Map,
    private readonly open: (address: string) => void,
  ) {
    map.addLayer(new VectorLayer({ source: this.source, style: sketchStyle, zIndex: 20 }));
    const modify = new Modify({ source: this.source, pixelTolerance: 22, style: sketchStyle() });
    modify.on("modifyend", () => this.write());
    map.addInteraction(modify);
    part("draw-finish").addEventListener("click", () => this.finish());
    part("draw-back").addEventListener("click", () => this.back());
    part("draw-leave").addEventListener("click", () => this.leave());
    document.addEventListener("input", (event) => this.follow(event.target));
    part("map").addEventListener("keydown", (event) => this.key(event));
  }

  get busy(): boolean {
    return this.draw !== null;
  }

  begin(task: Task): void {
    this.leave();
    this.task = task;
    this.sketch = null;
    this.draw = new Draw({
      type: TYPES[task.shape],
      stopClick: true,
      snapTolerance: 18,
      style: sketchStyle(),
      minPoints: LEAST[task.shape],
    });
    this.draw.on("drawstart", ({ feature }) => {
      this.sketch = feature;
    });
    this.draw.on("drawend", ({ feature }) => this.ended(feature));
    this.map.addInteraction(this.draw);
    part("draw-words").textContent = task.words;
    part("draw-result").textContent = "";
    this.showStrip(true);
    part("map").classList.add("drawing");
    part("map").focus({ preventScroll: true });
  }

  leave(): void {
    if (this.draw) this.map.removeInteraction(this.draw);
    this.draw = null;
    this.task = null;
    this.source.clear();
    this.showStrip(false);
    part("map").classList.remove("drawing");
  }

  // The strip stands where the scale stands, so that nothing moves and nothing is covered.
  private showStrip(shown: boolean): void {
    this.strip.hidden = !shown;
    part("map-foot").hidden = shown;
  }

  private finish(): void {
    if (!this.draw || !this.task) return;
    const least = LEAST[this.task.shape];
    if (this.count() < least) {
      part("draw-result").textContent = `Set at least ${least} point${least > 1 ? "s" : ""} first.`;
      return;
    }
    this.draw.finishDrawing();
  }

  // How many points are set; the sketch has one more, that follows the pointer.
  private count(): number {
    const geometry = this.sketch?.getGeometry();
    if (geometry instanceof LineString) return geometry.getCoordinates().length - 1;
    if (geometry instanceof Polygon) return (geometry.getCoordinates()[0]?.length ?? 2) - 2;
    return 0;
  }

  private back(): void {
    this.draw?.removeLastPoint();
  }

  private key(event: KeyboardEvent): void {
    if (!this.draw) return;
    if (event.key === " ") this.setCorner();
    else if (event.key === "Enter") this.finish();
    else if (event.key === "Backspace") this.back();
    else if (event.key === "Escape") this.leave();
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  // A corner at the cross in the middle of the map.
  private setCorner(): void {
    const centre = this.map.getView().getCenter();
    if (!centre || !this.draw || !this.task) return;
    if (this.task.shape === "point") this.ended(new Feature(new Point(centre)));
    else this.draw.appendCoordinates([centre]);
  }

  private ended(feature: Feature): void {
    if (this.draw) this.map.removeInteraction(this.draw);
    this.draw = null;
    this.source.clear();
    this.source.addFeature(feature);
    part("map").classList.remove("drawing");
    const geometry = feature.getGeometry();
    if (!geometry || !this.task) return;
    if (this.task.what === "measure") {
      this.measured(geometry);
      return;
    }
    this.showStrip(false);
    if (this.task.what === "shape") {
      const { done } = this.task;
      this.leave();
      done?.(geometry);
      return;
    }
    const url = new URL(this.task.address, location.href);
    url.searchParams.set("geometry", wkt(geometry));
    this.open(url.pathname + url.search);
  }

  private measured(geometry: Geometry): void {
    const result = part("draw-result");
    if (geometry instanceof Polygon) {
      const edge = new LineString(geometry.getLinearRing(0)?.getCoordinates() ?? []).getLength();
      result.textContent = `Area ${inWords(geometry.getArea(), "mm²")}, edge ${inWords(edge, "mm")}`;
    } else if (geometry instanceof LineString) {
      result.textContent = `Length ${inWords(geometry.getLength(), "mm")}`;
    }
  }

  private field(): HTMLTextAreaElement | null {
    return document.querySelector<HTMLTextAreaElement>("#grounds textarea[name='geometry']");
  }

  // The sketch was changed: into the form, or into the measure.
  private write(): void {
    const geometry = this.source.getFeatures()[0]?.getGeometry();
    if (!geometry) return;
    if (this.task?.what === "measure") this.measured(geometry);
    const field = this.field();
    if (field) field.value = wkt(geometry);
  }

  // The text was changed: the sketch follows, as far as the text can be read.
  private follow(target: EventTarget | null): void {
    const field = this.field();
    if (!field || target !== field) return;
    const geometry = read(field.value, this.task?.shape ?? "polygon");
    if (!geometry) return;
    this.source.clear();
    this.source.addFeature(new Feature(geometry));
  }
}

export function wkt(geometry: Geometry): string {
  return new WKT().writeGeometry(geometry, { decimals: 1 });
}

export function read(text: string, shape: Shape): Geometry | null {
  try {
    if (/^\s*[A-Za-z]/.test(text)) return new WKT().readGeometry(text);
  } catch {
    return null;
  }
  const pairs = text
    .split(/[;\n]/)
    .map((pair) => pair.trim().split(/[\s,]+/).map(Number))
    .filter((pair) => pair.length === 2 && pair.every(Number.isFinite));
  if (pairs.length < LEAST[shape]) return null;
  if (shape === "point") return new Point(pairs[0] ?? [0, 0]);
  return shape === "line" ? new LineString(pairs) : new Polygon([[...pairs, pairs[0] ?? []]]);
}
