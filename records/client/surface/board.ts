// The map on which a face lies: its sheet and outline, how it is moved, brought closer and shown whole.

import Map from "ol/Map";
import View from "ol/View";
import Feature from "ol/Feature";
import { defaults as controls } from "ol/control";
import { buffer, getCenter, type Extent } from "ol/extent";
import { Polygon } from "ol/geom";
import { defaults as interactions } from "ol/interaction";
import VectorLayer from "ol/layer/Vector";
import type Projection from "ol/proj/Projection";
import VectorSource from "ol/source/Vector";
import { Fill, Stroke, Style } from "ol/style";
import { part } from "./setup";

const PADDING = [14, 14, 14, 14];

export interface Ground {
  width: number;
  height: number;
  outline: [number, number][][];
}

// `whole` is what the map shows at first; a photograph has its rows below zero.
export function faceMap(
  { width, height, outline }: Ground,
  frame: Projection,
  whole: Extent = [0, 0, width, height],
): Map {
  // On a narrow screen the map is no higher than the face needs.
  const target = part("map");
  target.style.setProperty("--face-height", `${Math.round((target.clientWidth * height) / width) + 30}px`);
  const edge = new VectorLayer({
    source: new VectorSource({ features: [new Feature(new Polygon(outline))] }),
    zIndex: 3,
    style: [
      new Style({ stroke: new Stroke({ color: "rgba(255,255,255,0.8)", width: 3 }) }),
      new Style({ stroke: new Stroke({ color: "#1d1b18", width: 1 }) }),
    ],
  });
  const sheet = new VectorLayer({
    source: new VectorSource({ features: [new Feature(new Polygon(outline))] }),
    zIndex: -1,
    style: new Style({ fill: new Fill({ color: "#f6f2ea" }) }),
  });
  const view = new View({
    projection: frame,
    extent: buffer(whole, Math.max(width, height) / 2),
    constrainOnlyCenter: true,
    enableRotation: false,
    center: getCenter(whole),
    resolution: Math.max(width / 800, height / 600),
    minResolution: 0.004,
    maxResolution: Math.max(width, height) / 150,
  });
  const map = new Map({
    target,
    layers: [sheet, edge],
    view,
    controls: controls({ attribution: false, rotate: false, zoom: false }),
    interactions: interactions({ altShiftDragRotate: false, pinchRotate: false }),
  });
  view.fit(whole, { padding: PADDING, size: map.getSize() ?? [800, 600] });
  return map;
}

// The buttons under the map.
export function startZoom(map: Map, { width, height }: Ground, whole: Extent = [0, 0, width, height]): void {
  const view = map.getView();
  const zoom = (by: number) => (): void => view.animate({ resolution: (view.getResolution() ?? 1) * by, duration: 150 });
  part("zoom-in").addEventListener("click", zoom(0.5));
  part("zoom-out").addEventListener("click", zoom(2));
  part("zoom-whole").addEventListener("click", () => {
    view.fit(whole, { padding: PADDING, duration: 200 });
  });
}
