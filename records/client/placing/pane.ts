// One of the two panes: a picture with the points on it, and a lens that shows where one presses.
//
// A press adds a point, a drag moves one; a point that is held answers to the arrow keys.

import type { Coordinate } from "ol/coordinate";
import type { Extent } from "ol/extent";
import { buffer } from "ol/extent";
import type MapBrowserEvent from "ol/MapBrowserEvent";
import type Projection from "ol/proj/Projection";
import Feature from "ol/Feature";
import Map from "ol/Map";
import View from "ol/View";
import { Point as Spot } from "ol/geom";
import { defaults as interactions } from "ol/interaction";
import Pointer from "ol/interaction/Pointer";
import type Layer from "ol/layer/Layer";
import TileLayer from "ol/layer/Tile";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import { Circle, Fill, RegularShape, Stroke, Style, Text } from "ol/style";
import { part } from "../surface/setup";

const COARSE = matchMedia("(pointer: coarse)").matches;
const NEAR_PX = COARSE ? 24 : 12;
const LENS = 4; // times as large as the pane
const INK = "#1d1b18";
const PAPER = "rgba(255,253,248,0.95)";
const SMALT = "#1f4e86";
const MADDER = "#8e2a33";

export type State = "set" | "held" | "doubtful" | "proposed" | "foretold";

export interface Mark {
  key: string; // "row:3" or "proposed:3"
  label: string;
  at: Coordinate;
  state: State;
}

export interface Deeds {
  pressed: (at: Coordinate) => void;
  moved: (key: string, at: Coordinate) => void;
  held: (key: string | null) => void;
  nudged: (dx: number, dy: number) => void;
  removed: () => void;
}

function cross(colour: string, width: number): RegularShape {
  return new RegularShape({ points: 4, radius: 11, radius2: 0, stroke: new Stroke({ color: colour, width }) });
}

function ring(radius: number, colour: string, width: number, lineDash?: number[]): Circle {
  return new Circle({
    radius,
    stroke: new Stroke(lineDash ? { color: colour, width, lineDash } : { color: colour, width }),
    fill: new Fill({ color: "rgba(255,255,255,0.01)" }),
  });
}

// Set by a person: solid. Proposed or foretold: broken and hollow.
function style(feature: Feature): Style[] {
  const { label, state } = feature.get("mark") as Mark;
  const colour = state === "doubtful" ? MADDER : state === "set" || state === "held" ? SMALT : INK;
  const text = new Style({
    text: new Text({
      text: state === "doubtful" ? `${label} ?` : label,
      offsetX: 14,
      offsetY: -12,
      textAlign: "left",
      font: `${state === "held" ? 700 : 600} 14px "Source Sans 3", sans-serif`,
      fill: new Fill({ color: colour }),
      stroke: new Stroke({ color: PAPER, width: 4 }),
    }),
  });
  if (state === "proposed" || state === "foretold") {
    const radius = state === "proposed" ? 8 : 14;
    return [new Style({ image: ring(radius, PAPER, 4) }), new Style({ image: ring(radius, INK, 1.5, [3, 3]) }), text];
  }
  const styles = [new Style({ image: cross(PAPER, 5) }), new Style({ image: cross(colour, 2) }), text];
  if (state === "held") styles.unshift(new Style({ image: ring(15, PAPER, 5) }), new Style({ image: ring(15, colour, 2.5) }));
  return styles;
}

export class Pane {
  readonly map: Map;
  private readonly lens: Map;
  private readonly lensBox = document.createElement("div");
  private readonly marks = new VectorSource<Feature<Spot>>();
  private readonly target: HTMLElement;
  private shown: Layer[] = [];
  private dragging: Feature<Spot> | null = null;
  private holding = false;

  constructor(
    private readonly name: "image" | "face",
    projection: Projection,
    private readonly whole: Extent,
    private readonly deeds: Deeds,
    private readonly words: (at: Coordinate) => string,
    finest: number,
  ) {
    const target = (this.target = part(`pane-${name}`));
    const [left = 0, bottom = 0, right = 1, top = 1] = whole;
    const view = new View({
      projection,
      extent: buffer(whole, Math.max(right - left, top - bottom) / 3),
      constrainOnlyCenter: true,
      enableRotation: false,
      center: [(left + right) / 2, (bottom + top) / 2],
      resolution: (right - left) / 400,
      minResolution: finest,
      maxResolution: Math.max(right - left, top - bottom) / 120,
    });
    this.map = new Map({
      target,
      layers: [this.markLayer()],
      view,
      controls: [],
      interactions: interactions({ altShiftDragRotate: false, pinchRotate: false, doubleClickZoom: false }),
    });
    this.map.addInteraction(this.grip());
    this.lensBox.className = "lens";
    this.lensBox.hidden = true;
    this.lensBox.ariaHidden = "true";
    target.append(this.lensBox);
    this.lens = new Map({
      target: this.lensBox,
      layers: [this.markLayer()],
      view: new View({ projection, center: [0, 0], resolution: 1, minResolution: finest / 16, enableRotation: false }),
      controls: [],
      interactions: [],
    });
    this.fit();
    this.listen();
  }

  // The pictures and records of the pane; the lens shows the same.
  show(layers: Layer[]): void {
    for (const layer of this.shown) this.map.removeLayer(layer);
    for (const layer of [...this.lens.getLayers().getArray()].slice(0, -1)) this.lens.removeLayer(layer);
    this.shown = layers;
    layers.forEach((layer, index) => {
      this.map.getLayers().insertAt(index, layer);
      const source = layer.getSource();
      if (layer instanceof TileLayer && source) {
        this.lens.getLayers().insertAt(this.lens.getLayers().getLength() - 1, new TileLayer({ source: source as never }));
      }
    });
  }

  mark(marks: Mark[]): void {
    if (this.dragging) {
      // What is dragged stays in hand.
      const held = this.dragging.get("mark") as Mark;
      marks = marks.filter((mark) => mark.key !== held.key);
      this.marks.forEachFeature((feature) => {
        if (feature !== this.dragging) this.marks.removeFeature(feature);
      });
    } else this.marks.clear(true);
    this.marks.addFeatures(marks.map((mark) => new Feature({ geometry: new Spot(mark.at), mark })));
    this.holding = marks.some((mark) => mark.state === "held");
  }

  // Bring a place into view when it is not.
  bringIn(at: Coordinate): void {
    const view = this.map.getView();
    const [left = 0, bottom = 0, right = 0, top = 0] = view.calculateExtent(this.map.getSize());
    const [x = 0, y = 0] = at;
    const margin = 20 * (view.getResolution() ?? 1);
    if (x < left + margin || x > right - margin || y < bottom + margin || y > top - margin) {
      view.animate({ center: at, duration: 200 });
    }
  }

  zoom(by: number): void {
    const view = this.map.getView();
    if (by === 0) this.fit();
    else view.animate({ resolution: (view.getResolution() ?? 1) * by, duration: 150 });
  }

  private fit(): void {
    this.map.getView().fit(this.whole, { padding: [24, 24, 24, 24], size: this.map.getSize() ?? [400, 300] });
  }

  private markLayer(): VectorLayer<VectorSource<Feature<Spot>>> {
    return new VectorLayer({
      source: this.marks,
      style: (feature) => style(feature as Feature),
      zIndex: 20,
      updateWhileInteracting: true,
      updateWhileAnimating: true,
    });
  }

  private nearest(pixel: number[]): Feature<Spot> | null {
    let best: Feature<Spot> | null = null;
    let least = NEAR_PX;
    this.marks.forEachFeature((feature) => {
      if ((feature.get("mark") as Mark).state === "foretold") return;
      const at = this.map.getPixelFromCoordinate(feature.getGeometry()?.getCoordinates() ?? [0, 0]);
      const away = Math.hypot((at[0] ?? 0) - (pixel[0] ?? 0), (at[1] ?? 0) - (pixel[1] ?? 0));
      if (away < least) [best, least] = [feature, away];
    });
    return best;
  }

  private grip(): Pointer {
    let from: Coordinate = [0, 0];
    let moved = false;
    return new Pointer({
      handleDownEvent: (event: MapBrowserEvent) => {
        this.dragging = this.nearest(event.pixel);
        from = event.pixel;
        moved = false;
        this.look(event.coordinate, event.pixel);
        return this.dragging !== null;
      },
      handleDragEvent: (event: MapBrowserEvent) => {
        const { state } = this.dragging?.get("mark") as Mark;
        const away = Math.hypot((event.pixel[0] ?? 0) - (from[0] ?? 0), (event.pixel[1] ?? 0) - (from[1] ?? 0));
        if (state === "proposed" || (!moved && away < 4)) return;
        moved = true;
        this.dragging?.getGeometry()?.setCoordinates(event.coordinate);
        this.look(event.coordinate, event.pixel);
      },
      handleUpEvent: (event: MapBrowserEvent) => {
        const { key } = this.dragging?.get("mark") as Mark;
        this.dragging = null;
        if (COARSE) this.lensBox.hidden = true;
        if (moved) this.deeds.moved(key, event.coordinate);
        else this.deeds.held(key);
        return false;
      },
    });
  }

  private listen(): void {
    this.map.on("click", (event) => {
      if (!this.nearest(event.pixel)) this.deeds.pressed(event.coordinate);
      if (COARSE) this.lensBox.hidden = true;
    });
    this.map.on("pointermove", (event) => {
      this.target.classList.toggle("over", this.nearest(event.pixel) !== null);
      if (!COARSE && !event.dragging) this.look(event.coordinate, event.pixel);
    });
    this.target.addEventListener("pointerleave", () => {
      this.lensBox.hidden = true;
      part(`place-${this.name}`).textContent = "";
    });
    // Before the map itself hears of a key: what is held moves, not the picture.
    this.target.addEventListener("keydown", (event) => this.key(event), { capture: true });
  }

  private key(event: KeyboardEvent): void {
    const step = event.shiftKey ? 0.1 : 1;
    const ways: Record<string, [number, number]> = {
      ArrowLeft: [-step, 0],
      ArrowRight: [step, 0],
      ArrowUp: [0, step],
      ArrowDown: [0, -step],
    };
    const way = ways[event.key];
    if (way && this.holding) this.deeds.nudged(...way);
    else if (event.key === " ") this.atCross();
    else if ((event.key === "Delete" || event.key === "Backspace") && this.holding) this.deeds.removed();
    else if (event.key === "Escape" && this.holding) this.deeds.held(null);
    else return;
    event.preventDefault();
    event.stopImmediatePropagation();
  }

  // The space bar acts where the cross in the middle of the pane is.
  private atCross(): void {
    const [width = 0, height = 0] = this.map.getSize() ?? [];
    const middle = [width / 2, height / 2];
    const near = this.nearest(middle);
    if (near) this.deeds.held((near.get("mark") as Mark).key);
    else this.deeds.pressed(this.map.getCoordinateFromPixel(middle));
  }

  // The lens stands in the corner away from the pointer, so that no finger covers it.
  look(at: Coordinate, pixel: number[] = this.map.getPixelFromCoordinate(at)): void {
    const [width = 0] = this.map.getSize() ?? [];
    this.lensBox.hidden = false;
    this.lensBox.classList.toggle("right", (pixel[0] ?? 0) < width / 2);
    this.lens.updateSize();
    this.lens.getView().setResolution((this.map.getView().getResolution() ?? 1) / LENS);
    this.lens.getView().setCenter(at);
    part(`place-${this.name}`).textContent = this.words(at);
  }
}
