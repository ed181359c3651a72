// The sheet: which one is shown, where the eye is on it, and what is marked.
import {$, svgEl, options} from "./dom.js";

const view = $("view");
const docs = new Map();   // sheet id -> parsed SVG
let order = [];           // [{id, title}]
let shown = "", full = null, box = null;
let marks = [];           // [{id, kind}] to draw under the lines
let onshow = () => {};

export const current = () => shown;
export const svg = () => view.firstElementChild;
export function whenShown(f) { onshow = f; }

/** load fetches the sheets of a new state and keeps the eye where it was. */
export async function load(list) {
  const texts = await Promise.all(list.map(s => fetch(`sheet/${encodeURIComponent(s.id)}`).then(r => r.ok ? r.text() : "")));
  docs.clear();
  order = list.filter((s, i) => {
    const doc = texts[i] && new DOMParser().parseFromString(texts[i], "image/svg+xml");
    if (!doc || doc.querySelector("parsererror")) return false;
    docs.set(s.id, doc);
    return true;
  });
  options($("sheet"), order.map(s => [s.id, s.title]), shown);
  const keep = docs.has(shown) ? box : null;
  show(docs.has(shown) ? shown : order[0]?.id, keep);
}

export function show(id, at = null) {
  const doc = docs.get(id);
  if (!doc) { view.replaceChildren(); shown = ""; return; }
  shown = id;
  $("sheet").value = id;
  const s = document.importNode(doc.documentElement, true);
  full = s.getAttribute("viewBox").split(/\s+/).map(Number);
  s.removeAttribute("width");
  s.removeAttribute("height");
  view.replaceChildren(s);
  look(at || full);
  paint();
  onshow();
}

export function step(by) {
  const i = order.findIndex(s => s.id === shown);
  const next = order[i + by];
  if (next) show(next.id);
}

function look(to) {
  box = to;
  svg()?.setAttribute("viewBox", box.join(" "));
}

export const fit = () => full && look(full);

/** zoom scales the view about a point given as shares of the view. */
export function zoom(by, fx = .5, fy = .5) {
  if (!box) return;
  const w = Math.min(full[2] * 2, Math.max(full[2] / 40, box[2] / by)), k = w / box[2];
  look([box[0] + box[2] * (1 - k) * fx, box[1] + box[3] * (1 - k) * fy, w, box[3] * k]);
}

export const pan = (dx, dy) => box && look([box[0] + dx * box[2], box[1] + dy * box[3], box[2], box[3]]);

// places finds what stands for an id on a sheet: the part, the wire or the hose.
function places(root, id) {
  const part = id.split(".")[0];
  return [...root.querySelectorAll("[data-part],path[data-wire],path[data-hose]")].filter(e =>
    e.dataset.part === part || e.dataset.part === id || e.dataset.wire === id || e.dataset.hose === id);
}

/** best tells on which sheet the most of some ids stand, runs before parts; the
    shown one wins a draw. */
export function best(ids) {
  let most = 0, found = "";
  for (const s of [{id: shown}, ...order]) {
    const doc = docs.get(s.id);
    if (!doc) continue;
    const worth = (id, i) => {
      const [e] = places(doc, id);
      return !e ? 0 : (e.tagName === "path" ? 2 : 1) + (i === 0 ? 3 : 0);
    };
    const n = ids.reduce((n, id, i) => n + worth(id, i), 0);
    if (n > most) [most, found] = [n, s.id];
  }
  return found;
}

/** mark sets what is lit: groups of ids by kind, "" for what is chosen. */
export function mark(groups, bring = true) {
  marks = Object.entries(groups).flatMap(([kind, ids]) => ids.map(id => ({kind, id})));
  const first = groups.chosen?.length ? groups.chosen : marks.map(m => m.id);
  const on = bring && best([...first, ...marks.map(m => m.id).filter(id => !first.includes(id))]);
  if (on && on !== shown) show(on); else paint();
  if (bring) centre(first);
}

function paint() {
  const s = svg();
  if (!s) return;
  s.querySelector(".marks")?.remove();
  const g = svgEl("g", {class: "marks"});
  const rank = {lost: 0, way: 1, chosen: 2};
  for (const m of [...marks].sort((a, b) => rank[a.kind] - rank[b.kind])) {
    for (const e of places(s, m.id)) {
      const cls = "halo " + m.kind;
      if (e.tagName === "path") {
        g.append(svgEl("path", {d: e.getAttribute("d"), class: cls}));
      } else {
        const b = e.getBBox();
        g.append(svgEl("rect", {x: b.x - 1, y: b.y - 1, width: b.width + 2, height: b.height + 2, rx: 1, class: cls}));
      }
    }
  }
  const paper = s.querySelector(".paper");
  paper ? paper.after(g) : s.prepend(g);
}

// centre moves the eye so that what is lit can be seen.
function centre(ids) {
  const s = svg();
  const boxes = s ? ids.flatMap(id => places(s, id)).map(e => e.getBBox()) : [];
  if (!boxes.length || box[2] >= full[2]) return;
  const x = boxes[0].x + boxes[0].width / 2, y = boxes[0].y + boxes[0].height / 2;
  if (x < box[0] || x > box[0] + box[2] || y < box[1] || y > box[1] + box[3]) {
    look([x - box[2] / 2, y - box[3] / 2, box[2], box[3]]);
  }
}

/** under tells what lies under the pointer: a part, run or a finding's number. */
export function under(target) {
  const f = target.closest?.(".finding");
  if (f) return {finding: Number(f.querySelector("text")?.textContent)};
  const e = target.closest?.("[data-wire],[data-hose],[data-part]");
  return e ? {id: e.dataset.wire || e.dataset.hose || e.dataset.part} : null;
}

// Pointer and keys.
let drag = null;
view.addEventListener("wheel", e => {
  e.preventDefault();
  const r = view.getBoundingClientRect();
  zoom(e.deltaY < 0 ? 1.2 : 1 / 1.2, (e.clientX - r.left) / r.width, (e.clientY - r.top) / r.height);
}, {passive: false});
view.addEventListener("pointerdown", e => { drag = {x: e.clientX, y: e.clientY, moved: false}; });
addEventListener("pointermove", e => {
  if (!drag || !box) return;
  const r = view.getBoundingClientRect(), dx = drag.x - e.clientX, dy = drag.y - e.clientY;
  if (!drag.moved && Math.hypot(dx, dy) < 4) return;
  drag = {x: e.clientX, y: e.clientY, moved: true};
  const scale = Math.max(box[2] / r.width, box[3] / r.height);
  look([box[0] + dx * scale, box[1] + dy * scale, box[2], box[3]]);
});
addEventListener("pointerup", () => { if (drag?.moved) setTimeout(() => { drag = null; }); else drag = null; });
export const dragging = () => drag?.moved;
view.addEventListener("keydown", e => {
  const act = {
    "+": () => zoom(1.25), "=": () => zoom(1.25), "-": () => zoom(.8), "0": fit,
    ArrowLeft: () => pan(-.1, 0), ArrowRight: () => pan(.1, 0), ArrowUp: () => pan(0, -.1), ArrowDown: () => pan(0, .1),
    PageDown: () => step(1), PageUp: () => step(-1),
  }[e.key];
  if (act && !e.ctrlKey && !e.metaKey && !e.altKey) { e.preventDefault(); act(); }
});
$("in").addEventListener("click", () => zoom(1.25));
$("out").addEventListener("click", () => zoom(.8));
$("fit").addEventListener("click", fit);
$("sheet").addEventListener("change", e => show(e.target.value));
