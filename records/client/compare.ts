// Two images of a face compared: the difference over the map, and a line drawn for grey values.

import "ol/ol.css";
import type Map from "ol/Map";
import Feature from "ol/Feature";
import { LineString, type Geometry } from "ol/geom";
import ImageLayer from "ol/layer/Image";
import type Layer from "ol/layer/Layer";
import VectorLayer from "ol/layer/Vector";
import ImageStatic from "ol/source/ImageStatic";
import VectorSource from "ol/source/Vector";
import { faceMap, startZoom, type Ground } from "./surface/board";
import { Drawing, read } from "./surface/drawing";
import { faceFrame } from "./surface/millimetres";
import { pictureLayer } from "./surface/pictures";
import { startScale } from "./surface/scale";
import { part, type Picture } from "./surface/setup";
import { sketchStyle } from "./surface/signs";

interface SetUp extends Ground {
  pictures: Picture[];
  difference: { address: string; box: [number, number, number, number] } | null;
  chosen: number[];
}

class Comparison {
  private readonly frame;
  private readonly map: Map;
  private readonly layers = new globalThis.Map<string, Layer>();
  private readonly sketch = new VectorSource<Feature>();
  private readonly shown = part<HTMLSelectElement>("shown");
  private readonly line: HTMLInputElement;

  constructor(private readonly setUp: SetUp) {
    this.frame = faceFrame(setUp.width, setUp.height);
    this.map = faceMap(setUp, this.frame);
    this.map.addLayer(new VectorLayer({ source: this.sketch, style: sketchStyle, zIndex: 10 }));
    startZoom(this.map, setUp);
    startScale(this.map);
    this.shown.addEventListener("change", () => this.show());
    this.show();
    const line = document.querySelector<HTMLInputElement>("#profile-form [name='line']");
    if (!line) throw new Error("The page lacks the field of the line.");
    this.line = line;
    this.line.addEventListener("input", () => this.follow());
    const drawing = new Drawing(this.map, () => undefined);
    part("draw-line").addEventListener("click", () =>
      drawing.begin({
        what: "shape",
        words: "Set the points of the line.",
        address: "",
        shape: "line",
        done: (geometry) => this.drawn(geometry),
      }),
    );
  }

  private show(): void {
    for (const layer of this.layers.values()) layer.setVisible(false);
    const name = this.shown.value;
    let layer = this.layers.get(name);
    if (!layer) {
      const made = this.make(name);
      if (!made) return;
      layer = made;
      this.layers.set(name, layer);
      this.map.addLayer(layer);
    }
    layer.setVisible(true);
  }

  private make(name: string): Layer | null {
    const { difference, pictures } = this.setUp;
    if (name === "difference" && difference) {
      const source = new ImageStatic({
        url: difference.address,
        projection: this.frame,
        imageExtent: difference.box,
        interpolate: false,
      });
      return new ImageLayer({ source });
    }
    const picture = pictures.find((one) => String(one.image) === name);
    return picture ? pictureLayer(picture, this.frame) : null;
  }

  private drawn(geometry: Geometry): void {
    if (!(geometry instanceof LineString)) return;
    this.sketch.clear();
    this.sketch.addFeature(new Feature(geometry));
    const points = geometry.getCoordinates().map(([x = 0, y = 0]) => `${x.toFixed(1)}, ${y.toFixed(1)}`);
    this.line.value = points.join("; ");
    window.htmx.trigger(part("profile-form"), "drawn", {});
  }

  // The numbers were changed: the line follows, as far as they can be read.
  private follow(): void {
    const geometry = read(this.line.value, "line");
    this.sketch.clear();
    if (geometry instanceof LineString) this.sketch.addFeature(new Feature(geometry));
  }
}

const text = document.getElementById("compare-set-up")?.textContent;
if (text) addEventListener("DOMContentLoaded", () => new Comparison(JSON.parse(text) as SetUp));
