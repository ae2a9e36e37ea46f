// The scale bar and the place of the pointer, in millimetres of the face.

import type Map from "ol/Map";
import { inWords } from "./millimetres";
import { part } from "./setup";

const BAR_PX = 140;

function roundLength(most: number): number {
  const power = 10 ** Math.floor(Math.log10(most));
  return [5, 2, 1].map((step) => step * power).find((length) => length <= most) ?? power;
}

export function startScale(map: Map): void {
  const bar = part("scale-bar");
  const words = part("scale-words");
  const place = part("pointer-place");
  const draw = (): void => {
    const resolution = map.getView().getResolution();
    if (!resolution) return;
    const length = roundLength(BAR_PX * resolution);
    bar.setAttribute("width", String(Math.round(length / resolution)));
    words.textContent = inWords(length, "mm");
  };
  map.getView().on("change:resolution", draw);
  draw();
  map.on("pointermove", (event) => {
    const [x = 0, y = 0] = event.coordinate;
    const decimals = (map.getView().getResolution() ?? 1) < 0.2 ? 1 : 0;
    place.textContent = `${x.toFixed(decimals)}, ${y.toFixed(decimals)} mm`;
  });
}
