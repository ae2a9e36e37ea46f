// The pictures under the records: one, and another over it, blended or behind a curtain.

import type Map from "ol/Map";
import type Projection from "ol/proj/Projection";
import type RenderEvent from "ol/render/Event";
import { getRenderPixel } from "ol/render";
import TileLayer from "ol/layer/Tile";
import { apply as applyTransform } from "ol/transform";
import IIIF from "ol/source/IIIF";
import { pictureFrame } from "./millimetres";
import { part, type Picture, type SetUp } from "./setup";

type Layer = TileLayer<IIIF>;

// A picture where it lies on the face; seen from behind when `mirrored` gives the face's width.
export function pictureLayer(picture: Picture, face: Projection, mirrored: number | null = null): Layer {
  const projection = pictureFrame(picture, face, mirrored);
  const layer: Layer = new TileLayer({
    source: new IIIF({
      url: `${picture.tiles}/`,
      version: "version3",
      size: [picture.width, picture.height],
      tileSize: 512,
      format: "jpg",
      quality: "default",
      projection,
      transition: 0,
    }),
  });
  if (picture.edge) {
    const turn = ([x, y]: [number, number]): [number, number] => [mirrored === null ? x : mirrored - x, y];
    const edge = picture.edge.map(turn);
    layer.on("prerender", (event) => clip(event, edge));
    layer.on("postrender", (event) => (event.context as CanvasRenderingContext2D | undefined)?.restore());
  }
  return layer;
}

// A redrawn picture fills a rectangle; it is seen as far as the image reaches.
function clip(event: RenderEvent, edge: [number, number][]): void {
  const pen = event.context as CanvasRenderingContext2D | undefined;
  const toPixel = event.frameState?.coordinateToPixelTransform;
  if (!pen || !toPixel) return;
  pen.save();
  pen.beginPath();
  edge.forEach((corner, index) => {
    const [x = 0, y = 0] = getRenderPixel(event, applyTransform(toPixel, [...corner]));
    if (index) pen.lineTo(x, y);
    else pen.moveTo(x, y);
  });
  pen.closePath();
  pen.clip();
}

export class Pictures {
  private readonly layers = new globalThis.Map<string, Layer>();
  private readonly under = part<HTMLSelectElement>("picture-under");
  private readonly over = part<HTMLSelectElement>("picture-over");
  private readonly share = part<HTMLInputElement>("picture-share");
  private readonly way = part<HTMLSelectElement>("picture-way");

  constructor(
    private readonly map: Map,
    private readonly face: Projection,
    private readonly setUp: SetUp,
  ) {
    for (const field of [this.under, this.over, this.way]) field.addEventListener("change", () => this.show());
    this.share.addEventListener("input", () => this.show());
    const asked = setUp.asked.image;
    if (asked && setUp.pictures.some((picture) => picture.image === asked)) this.under.value = `here-${asked}`;
    this.show();
  }

  private layer(value: string): Layer | null {
    if (!value) return null;
    let made = this.layers.get(value);
    if (!made) {
      const [side, key] = value.split("-");
      const behind = side === "behind";
      const pictures = behind ? (this.setUp.behind?.pictures ?? []) : this.setUp.pictures;
      const picture = pictures.find((one) => String(one.image) === key);
      if (!picture) return null;
      made = this.make(picture, behind);
      made.on("prerender", (event) => this.draw(value, event));
      made.on("postrender", (event) => (event.context as CanvasRenderingContext2D | undefined)?.restore());
      this.layers.set(value, made);
      this.map.addLayer(made);
    }
    return made;
  }

  private make(picture: Picture, behind: boolean): Layer {
    return pictureLayer(picture, this.face, behind ? this.setUp.width : null);
  }

  private show(): void {
    for (const layer of this.layers.values()) layer.setVisible(false);
    const under = this.layer(this.under.value);
    const over = this.over.value === this.under.value ? null : this.layer(this.over.value);
    const share = Number(this.share.value) / 100;
    under?.setVisible(true);
    under?.setZIndex(0);
    under?.setOpacity(1);
    over?.setVisible(true);
    over?.setZIndex(1);
    over?.setOpacity(this.way.value === "blend" ? share : 1);
    part("picture-mix").hidden = !over;
    this.map.render();
  }

  // Left of the curtain the picture over the other is seen, right of it the one under.
  private draw(value: string, event: RenderEvent): void {
    const pen = event.context as CanvasRenderingContext2D | undefined;
    if (!pen) return;
    pen.save();
    if (value !== this.over.value || value === this.under.value || this.way.value !== "curtain") return;
    const [width = 0, height = 0] = this.map.getSize() ?? [];
    const edge = (width * Number(this.share.value)) / 100;
    const corners = [
      [0, 0],
      [edge, 0],
      [edge, height],
      [0, height],
    ].map((corner) => getRenderPixel(event, corner));
    pen.beginPath();
    corners.forEach(([x = 0, y = 0], index) => (index ? pen.lineTo(x, y) : pen.moveTo(x, y)));
    pen.closePath();
    pen.clip();
  }
}
