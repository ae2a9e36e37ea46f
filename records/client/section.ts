// The photograph of a cross-section: its scale from two points, the boundaries of its layers.
//
// On the map rows run downwards as negative y; in the fields of the form they are pixels (column, row).

import "ol/ol.css";
import type Map from "ol/Map";
import Feature from "ol/Feature";
import type { Coordinate } from "ol/coordinate";
import { LineString, type Geometry } from "ol/geom";
import { Modify } from "ol/interaction";
import TileLayer from "ol/layer/Tile";
import VectorLayer from "ol/layer/Vector";
import Projection from "ol/proj/Projection";
import IIIF from "ol/source/IIIF";
import VectorSource from "ol/source/Vector";
import { Fill, Stroke, Style, Text } from "ol/style";
import { faceMap, startZoom } from "./surface/board";
import { Drawing } from "./surface/drawing";
import { part } from "./surface/setup";

interface SetUp {
  width: number;
  height: number;
  tiles: string;
}

const INK = "#1d1b18";
const PALE = "#ffffff";

class Section {
  private readonly map: Map;
  // Without a spatial index the lines stay in the order in which they were drawn.
  private readonly lines = new VectorSource<Feature>({ useSpatialIndex: false });
  private readonly scale = new VectorSource<Feature>({ useSpatialIndex: false });
  private readonly linesField = field<HTMLTextAreaElement>("lines");
  private readonly scaleField = field<HTMLInputElement>("scale_line");
  private unsaved = false;

  constructor({ width, height, tiles }: SetUp) {
    const extent: [number, number, number, number] = [0, -height, width, 0];
    const frame = new Projection({ code: "photograph", units: "pixels", extent, getPointResolution: (r) => r });
    const outline: [number, number][][] = [[[0, 0], [width, 0], [width, -height], [0, -height], [0, 0]]];
    const ground = { width, height, outline };
    this.map = faceMap(ground, frame, extent);
    const source = new IIIF({
      url: `${tiles}/`,
      version: "version3",
      size: [width, height],
      tileSize: 512,
      format: "jpg",
      quality: "default",
      projection: frame,
      extent,
      transition: 0,
    });
    this.map.addLayer(new TileLayer({ source }));
    this.map.addLayer(new VectorLayer({ source: this.lines, style: (f) => this.look(f as Feature, true), zIndex: 10 }));
    this.map.addLayer(new VectorLayer({ source: this.scale, style: (f) => this.look(f as Feature, false), zIndex: 11 }));
    for (const [source, write] of [[this.lines, () => this.writeLines()], [this.scale, () => this.writeScale()]] as const) {
      const modify = new Modify({ source, pixelTolerance: 18 });
      modify.on("modifyend", write);
      this.map.addInteraction(modify);
    }
    startZoom(this.map, ground, extent);
    this.startTools();
    this.keepWhatIsDrawn();
    this.linesField.addEventListener("input", () => this.read());
    this.scaleField.addEventListener("input", () => this.read());
    this.read();
  }

  // What is drawn is not lost by a slip; whoever saves, or leaves without saving, is not asked.
  private keepWhatIsDrawn(): void {
    addEventListener("beforeunload", (event) => {
      if (this.unsaved) event.preventDefault();
    });
    const form = this.linesField.form;
    form?.addEventListener("submit", () => (this.unsaved = false));
    form?.querySelector("a.button")?.addEventListener("click", () => (this.unsaved = false));
  }

  private startTools(): void {
    const drawing = new Drawing(this.map, () => undefined);
    part("board-line").addEventListener("click", () =>
      drawing.begin({
        what: "shape",
        shape: "line",
        address: "",
        words: "Set points along the boundary, from one end of the layer to the other.",
        done: (geometry) => this.add(this.lines, geometry, () => this.writeLines()),
      }),
    );
    part("board-scale").addEventListener("click", () =>
      drawing.begin({
        what: "shape",
        shape: "line",
        address: "",
        words: "Set the two ends of the scale bar, then write its length.",
        done: (geometry) => {
          this.scale.clear();
          this.add(this.scale, ends(geometry), () => this.writeScale());
          field<HTMLInputElement>("length_um").focus();
        },
      }),
    );
    part("board-back").addEventListener("click", () => {
      const last = this.lines.getFeatures().at(-1);
      if (last) this.lines.removeFeature(last);
      this.writeLines();
    });
  }

  private add(source: VectorSource<Feature>, geometry: Geometry, write: () => void): void {
    source.addFeature(new Feature(geometry));
    write();
  }

  // Boundaries from the bottom up, as the layers are counted.
  private stack(): Feature[] {
    const height = (feature: Feature): number => {
      const points = coordinates(feature);
      return points.reduce((sum, [, y = 0]) => sum + y, 0) / (points.length || 1);
    };
    return this.lines.getFeatures().sort((a, b) => height(a) - height(b));
  }

  private look(feature: Feature, numbered: boolean): Style[] {
    const words = numbered ? String(this.stack().indexOf(feature) + 1) : "scale";
    return [
      new Style({ stroke: new Stroke({ color: PALE, width: numbered ? 4.5 : 6 }) }),
      new Style({
        stroke: new Stroke({ color: INK, width: 2 }),
        text: new Text({
          text: words,
          font: "600 15px 'Source Sans 3'",
          placement: "line",
          textBaseline: "bottom",
          textAlign: "left",
          fill: new Fill({ color: INK }),
          stroke: new Stroke({ color: PALE, width: 4 }),
        }),
      }),
    ];
  }

  private writeLines(): void {
    this.linesField.value = this.stack().map((feature) => written(coordinates(feature))).join("\n");
    this.unsaved = true;
    this.say();
  }

  private writeScale(): void {
    const [line] = this.scale.getFeatures();
    this.scaleField.value = line ? written(coordinates(line)) : "";
    this.unsaved = true;
    this.say();
  }

  // The text was changed: the lines follow, as far as it can be read.
  private read(): void {
    for (const [source, text] of [[this.lines, this.linesField.value], [this.scale, this.scaleField.value]] as const) {
      source.clear();
      for (const line of text.split("\n")) {
        const points = readLine(line);
        if (points.length > 1) source.addFeature(new Feature(new LineString(points)));
      }
    }
    this.say();
  }

  private say(): void {
    const count = this.lines.getFeatures().length;
    const layers = Math.max(count - 1, 0);
    const scale = this.scale.getFeatures().length ? "scale set" : "no scale set";
    part("board-words").textContent = `${count} boundaries, ${layers} layer${layers === 1 ? "" : "s"}; ${scale}`;
    this.lines.changed();
  }
}

function field<T extends HTMLElement>(name: string): T {
  const found = document.querySelector<T>(`[name='${name}']`);
  if (!found) throw new Error(`The page lacks the field ${name}.`);
  return found;
}

function coordinates(feature: Feature): Coordinate[] {
  const geometry = feature.getGeometry();
  return geometry instanceof LineString ? geometry.getCoordinates() : [];
}

function ends(geometry: Geometry): Geometry {
  if (!(geometry instanceof LineString)) return geometry;
  return new LineString([geometry.getFirstCoordinate(), geometry.getLastCoordinate()]);
}

function written(points: Coordinate[]): string {
  return points.map(([x = 0, y = 0]) => `${x.toFixed(1)}, ${(-y).toFixed(1)}`).join("; ");
}

function readLine(text: string): Coordinate[] {
  return text
    .split(";")
    .map((pair) => pair.trim().split(/[\s,]+/).map(Number))
    .filter((pair) => pair.length === 2 && pair.every(Number.isFinite))
    .map(([x = 0, y = 0]) => [x, -y]);
}

const text = document.getElementById("section-set-up")?.textContent;
const setUp = text ? (JSON.parse(text) as SetUp | null) : null;
if (setUp) new Section(setUp);
