// Layers: figures of one condition laid over the sheet. Weight of line says how
// much, a number says it exactly.
import {svgEl} from "./dom.js";

export const layers = [
  ["", "none"], ["current", "current"], ["voltage", "voltage"],
  ["ahead of any device", "ahead of protection"], ["flow", "flow"], ["head loss", "head"],
];

/** lay draws a layer on a sheet from the rows of figures. */
export function lay(svg, layer, condition, figures) {
  svg.querySelector(".layer")?.remove();
  if (!layer) return 0;
  const g = svgEl("g", {class: "layer"});
  const rows = new Map();
  for (const f of figures) {
    const here = f.condition === condition || f.condition === "";
    if (here && f.known && (f.quantity === layer || layer === "head loss" && f.quantity === "head")) rows.set(f.id, f);
  }
  const most = Math.max(...[...rows.values()].map(f => Math.abs(f.value)), 1e-9);
  let drawn = 0;
  for (const path of svg.querySelectorAll("path[data-wire],path[data-hose]")) {
    const f = rows.get(path.dataset.wire || path.dataset.hose);
    if (!f) continue;
    const share = layer === "ahead of any device" ? .5 : Math.sqrt(Math.abs(f.value) / most);
    const kind = layer === "ahead of any device" ? "weight bare" : path.dataset.hose ? "weight water" : "weight";
    if (layer !== "voltage" && share > 0) {
      g.append(svgEl("path", {class: kind, d: path.getAttribute("d"), "stroke-width": (.4 + 3.2 * share).toFixed(2)}));
    }
    if (layer === "current" && Math.abs(f.value) < .005) continue;
    const p = path.getPointAtLength(path.getTotalLength() / 2);
    drawn += read(g, p.x, p.y + 1, f.text.replace(/^-/, ""));
  }
  for (const part of svg.querySelectorAll("[data-part]")) {
    const f = rows.get(part.dataset.part);
    if (!f || layer === "ahead of any device" || layer === "current" && Math.abs(f.value) < .005) continue;
    if (layer === "current" && part.dataset.kind !== "battery") continue; // its wires say it
    const b = part.getBBox();
    drawn += read(g, b.x + b.width / 2, b.y - .6, f.text);
  }
  svg.append(g);
  return drawn;
}

// read writes a figure on a plate of its own, so that lines under it do not blur it.
function read(g, x, y, text) {
  const w = text.length * 1.75 + 1.4;
  g.append(svgEl("rect", {class: "plate", x: x - w / 2, y: y - 2.9, width: w, height: 3.8, rx: .6}),
    svgEl("text", {class: "reading", x, y}, text));
  return 1;
}
