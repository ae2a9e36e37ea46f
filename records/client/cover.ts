// What an examination covered, drawn on the face; the areas stand as text in the field of the form.

import "ol/ol.css";
import type Map from "ol/Map";
import Feature from "ol/Feature";
import WKT from "ol/format/WKT";
import { MultiPolygon, Polygon, type Geometry } from "ol/geom";
import { Modify } from "ol/interaction";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import { faceMap, startZoom, type Ground } from "./surface/board";
import { Drawing, read } from "./surface/drawing";
import { faceFrame, inWords } from "./surface/millimetres";
import { pictureLayer } from "./surface/pictures";
import { startScale } from "./surface/scale";
import { part, type Picture } from "./surface/setup";
import { sketchStyle } from "./surface/signs";

interface Face extends Ground {
  name: string;
  pictures: Picture[];
}

interface SetUp {
  field: string;
  faces: Record<string, Face>;
}

class Board {
  private readonly areas = new VectorSource<Feature>();
  private map: Map | null = null;
  private readonly face = document.querySelector<HTMLSelectElement>("select[name='face']");
  private readonly text: HTMLTextAreaElement;

  constructor(private readonly setUp: SetUp) {
    const text = document.querySelector<HTMLTextAreaElement>(`textarea[name='${setUp.field}']`);
    if (!text) throw new Error("The page lacks the field of the shape.");
    this.text = text;
    this.face?.addEventListener("change", () => this.choose());
    this.choose();
  }

  // A face is drawn on a map of its own: another face, another page.
  private choose(): void {
    const face = this.setUp.faces[this.face?.value ?? ""];
    part("cover-board").hidden = !face;
    if (!face) return;
    if (this.map) {
      const url = new URL(location.href);
      url.searchParams.set("face", this.face?.value ?? "");
      location.replace(url);
      return;
    }
    const frame = faceFrame(face.width, face.height);
    this.map = faceMap(face, frame);
    const [picture] = face.pictures;
    if (picture) this.map.addLayer(pictureLayer(picture, frame));
    this.map.addLayer(new VectorLayer({ source: this.areas, style: sketchStyle, zIndex: 10 }));
    const modify = new Modify({ source: this.areas, pixelTolerance: 22, style: sketchStyle() });
    modify.on("modifyend", () => this.write());
    this.map.addInteraction(modify);
    const drawing = new Drawing(this.map, () => undefined);
    startZoom(this.map, face);
    startScale(this.map);
    part("board-draw").addEventListener("click", () =>
      drawing.begin({
        what: "shape",
        words: "Set the corners around what was covered.",
        address: "",
        shape: "polygon",
        done: (geometry) => {
          this.areas.addFeature(new Feature(geometry));
          this.write();
        },
      }),
    );
    part("board-clear").addEventListener("click", () => {
      this.areas.clear();
      this.write();
    });
    this.text.addEventListener("input", () => this.read());
    this.read();
  }

  private write(): void {
    const areas = this.areas.getFeatures().map((feature) => feature.getGeometry() as Polygon);
    const shape = areas.length > 1 ? new MultiPolygon(areas) : areas[0];
    this.text.value = shape ? new WKT().writeGeometry(shape, { decimals: 1 }) : "";
    this.say();
  }

  // The text was changed: the areas follow, as far as it can be read.
  private read(): void {
    const shape = read(this.text.value, "polygon");
    this.areas.clear();
    for (const area of parts(shape)) this.areas.addFeature(new Feature(area));
    this.say();
  }

  private say(): void {
    const areas = parts(...this.areas.getFeatures().map((feature) => feature.getGeometry() ?? null));
    const total = areas.reduce((sum, area) => sum + area.getArea(), 0);
    const count = areas.length > 1 ? `${areas.length} areas, ` : "";
    part("board-words").textContent = areas.length ? `${count}${inWords(total, "mm²")}` : "The whole face";
  }
}

function parts(...shapes: (Geometry | null)[]): Polygon[] {
  return shapes.flatMap((shape) => {
    if (shape instanceof Polygon) return [shape];
    return shape instanceof MultiPolygon ? shape.getPolygons() : [];
  });
}

const text = document.getElementById("cover-set-up")?.textContent;
if (text) new Board(JSON.parse(text) as SetUp);
