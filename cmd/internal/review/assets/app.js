// The page: what was read, what is chosen, and what is told about it.
import {$, el, fill, get, options} from "./dom.js";
import * as sheet from "./sheet.js";
import {layers, lay} from "./layers.js";

let state = null;        // what the server sent last
let sources = [];        // the files' texts
let drawn = 0;           // version of the sheets in the page
let heeled = null;       // {heel, findings} while the slider is off the file's heel
let chosen = {};         // {finding} or {id}
let detail = null;       // of the chosen part or run
let showLost = false;
const filter = {error: true, warning: true, note: true, accepted: false, kind: "", text: ""};

// --- panels

const tabs = [["findings", "Findings"], ["part", "Part or run"], ["conditions", "Conditions"], ["lists", "Lists"], ["unchecked", "Not checked"], ["source", "Source"]];
const panel = {};
for (const [id, title] of tabs) {
  $("tabs").append(el("button", {type: "button", role: "tab", id: "tab-" + id, "aria-controls": "panel-" + id, onclick: () => open(id)}, title));
  panel[id] = el("div", {role: "tabpanel", id: "panel-" + id, "aria-labelledby": "tab-" + id, tabindex: 0, hidden: true});
  $("panels").append(panel[id]);
}
function open(id) {
  for (const [t] of tabs) {
    panel[t].hidden = t !== id;
    $("tab-" + t).setAttribute("aria-selected", String(t === id));
    $("tab-" + t).tabIndex = t === id ? 0 : -1;
  }
}
$("tabs").addEventListener("keydown", e => {
  const i = tabs.findIndex(([t]) => $("tab-" + t) === document.activeElement);
  const by = {ArrowRight: 1, ArrowLeft: -1}[e.key];
  if (i < 0 || !by) return;
  const [t] = tabs[(i + by + tabs.length) % tabs.length];
  open(t);
  $("tab-" + t).focus();
});
open("findings");

const link = (id, text = id) => el("button", {type: "button", class: "plain", onclick: () => choose(id)}, text);
const titleOf = id => state.things.find(t => t.id === id || t.id === id.split(".")[0])?.title || "";

// --- what the server says

async function refresh() {
  try {
    state = await get("state");
    if (state.good) sources = await get("source");
  } catch (e) {
    $("summary").textContent = "the program that serves this page does not answer";
    return;
  }
  if (heeled) await judgeHeel(heeled.heel);
  render();
  if (state.drawn && state.drawn !== drawn) {
    drawn = state.drawn;
    $("fonts").href = "fonts.css?v=" + drawn;
    await sheet.load(state.sheets);
  }
  told();
  if (chosen.id) await choose(chosen.id, false);
  document.body.dataset.version = state.version;
  document.body.dataset.drawn = drawn;
}

function told() {
  const lagging = state.good && state.drawn !== 0 && (state.problems.length || drawn !== state.version && state.drawn < state.version && !state.problems.length);
  $("stale").hidden = !(lagging || state.drawFailed);
  $("stale").textContent = state.drawFailed ? "Not drawn: " + state.drawFailed
    : state.problems.length ? "The sheets show the last state that could be read." : "The sheets are being drawn anew.";
}

function render() {
  $("boat").textContent = state.boat || state.file;
  document.title = (state.boat || state.file) + " · fitout review";
  const n = c => state.findings.filter(f => f.severity === c && !f.accepted).length;
  const counts = `${n("error")} A, ${n("warning")} B, ${n("note")} C, ${state.unchecked.length} not checked`;
  $("summary").textContent = state.problems.length ? `${state.file} cannot be read as it stands` : `${counts} · ${state.heading}`;
  renderBroken();
  options($("layer"), layers, $("layer").value);
  options($("condition"), state.conditions.map(c => [c.id, c.title]), $("condition").value);
  renderFindings();
  renderConditions();
  renderLists();
  renderUnchecked();
  renderSource();
  renderPart();
}

function renderBroken() {
  $("broken").hidden = !state.problems.length;
  $("broken").replaceChildren(...state.problems.slice(0, 20).map(p => el("div", {},
    el("p", {}, el("strong", {}, `${p.file}:${p.line}:${p.column}`), " ", p.message, p.near && !p.message.includes(p.near) ? `; did you mean ${p.near}?` : ""),
    p.excerpt && el("pre", {tabindex: 0}, p.excerpt + "\n" + p.caret))));
}

// --- findings

function findings() {
  if (!heeled) return state.findings;
  return [...state.findings.filter(f => !f.water || f.accepted), ...heeled.findings.filter(f => !f.accepted).map(f => ({...f, heeled: true}))];
}

function passes(f) {
  if (f.accepted ? !filter.accepted : !filter[f.severity]) return false;
  if (filter.kind && (filter.kind === "water") !== f.water) return false;
  const t = filter.text.toLowerCase();
  return !t || [f.rule, f.message, ...f.at].some(s => s.toLowerCase().includes(t));
}

let list = null;
function renderFindings() {
  if (!list) {
    list = el("ol", {});
    panel.findings.append(heelBar(), filterBar(), list);
  }
  $("heel-now").textContent = heeled ? `${heeled.heel}°` : `${state.heel}° (the file's)`;
  if (!heeled) $("heel").value = state.heel;
  $("heel-back").hidden = !heeled;
  const show = findings().filter(passes);
  list.replaceChildren(...show.map(card));
  if (!show.length) list.append(el("li", {}, findings().length ? "Nothing passes the filters." : "No findings."));
}

const key = f => f.rule + "|" + f.at.join(" ") + "|" + f.condition + "|" + f.message;

function card(f) {
  const lit = chosen.finding === key(f);
  const rows = [["where", f.where], ["risk", f.risk], ["do", f.do], ["source", f.source], ["edit", f.fix], ["accepted", f.accepted]];
  return el("li", {class: "find " + f.severity, "data-rule": f.rule, "data-lit": lit},
    el("button", {type: "button", "aria-expanded": String(lit), onclick: () => chooseFinding(f)},
      el("b", {}, f.class + (f.number && !f.heeled ? " " + f.number : "")), f.message, " ",
      el("span", {class: "tag"}, `${f.rule} · ${f.file}:${f.line}${f.heeled ? ` · at ${heeled.heel}° heel` : ""}`)),
    lit && el("dl", {}, rows.filter(r => r[1]).flatMap(([n, t]) => [el("dt", {}, n), el("dd", {}, t)]),
      f.at.length > 0 && [el("dt", {}, "at"), el("dd", {}, f.at.flatMap(id => [link(id), " "]))]));
}

function filterBar() {
  const box = (name, text) => el("label", {}, el("input", {type: "checkbox", checked: filter[name], onchange: e => { filter[name] = e.target.checked; renderFindings(); }}), " " + text);
  return el("fieldset", {}, el("legend", {}, "Show"), box("error", "A"), box("warning", "B"), box("note", "C"), box("accepted", "accepted"),
    el("label", {}, "about ", el("select", {id: "kind", onchange: e => { filter.kind = e.target.value; renderFindings(); }},
      el("option", {value: ""}, "everything"), el("option", {value: "electric"}, "current"), el("option", {value: "water"}, "water"))),
    el("label", {}, "with ", el("input", {type: "search", id: "search", size: 12, oninput: e => { filter.text = e.target.value; renderFindings(); }})));
}

function heelBar() {
  let timer = 0;
  return el("div", {class: "heel"},
    el("label", {for: "heel"}, "Heel that flooding is judged at"),
    el("input", {type: "range", id: "heel", min: 0, max: 45, step: 1, oninput: e => {
      const v = Number(e.target.value);
      $("heel-now").textContent = v + "°";
      clearTimeout(timer);
      timer = setTimeout(async () => { await judgeHeel(v); renderFindings(); }, 120);
    }}),
    el("output", {id: "heel-now", for: "heel"}),
    el("button", {type: "button", id: "heel-back", hidden: true, onclick: () => { heeled = null; renderFindings(); }}, "Back to the file's"));
}

async function judgeHeel(v) {
  try { heeled = await get("heel/" + v); } catch { heeled = null; }
}

function chooseFinding(f) {
  const again = chosen.finding === key(f);
  chosen = again ? {} : {finding: key(f)};
  detail = null;
  sheet.mark(again ? {} : {chosen: f.at});
  light(again ? null : f.file, f.line);
  renderFindings();
  renderPart();
}

// --- the chosen part or run

async function choose(id, bring = true) {
  try { detail = await get("thing/" + encodeURIComponent(id)); } catch { detail = null; chosen = {}; }
  if (detail) {
    chosen = {id: detail.id};
    if (bring) open("part");
    markDetail(bring);
    if (bring) light(detail.file, detail.line);
  }
  renderPart();
  if (bring) renderFindings();
}

function markDetail(bring, only = null) {
  const ways = (only ? [only] : detail.ways).flatMap(w => [...w.steps.map(s => s.id), w.to.id]);
  const lost = showLost ? [...detail.dead || [], ...detail.only || [], ...detail.dry || []].map(t => t.id) : [];
  sheet.mark({chosen: [detail.id], way: showLost ? [] : ways, lost}, bring);
}

function renderPart() {
  const p = panel.part;
  const search = el("label", {}, "Part or run ", el("input", {list: "ids", id: "pick", size: 10, autocomplete: "off", onchange: e => choose(e.target.value.trim())}),
    el("datalist", {id: "ids"}, state.things.map(t => el("option", {value: t.id}, t.title))));
  if (!detail) {
    p.replaceChildren(search, el("p", {}, "Click a part or a run on the sheet, or name one here."));
    return;
  }
  const d = detail;
  const byCondition = [...new Set(d.figures.map(f => f.condition))];
  fill(p, search,
    el("h2", {}, `${d.id} ${d.title || ""}`), el("p", {class: "tag"}, [d.type, d.space].filter(Boolean).join(" · "), " · ",
      el("button", {type: "button", class: "plain", onclick: () => light(d.file, d.line)}, `${d.file}:${d.line}`)),
    el("dl", {}, d.values.flatMap(v => [el("dt", {}, v.name), el("dd", {}, v.text, v.from && el("span", {class: "tag"}, " " + v.from))])),
    d.findings.length > 0 && [el("h3", {}, "Findings"), el("ul", {}, d.findings.map(f => el("li", {}, el("b", {}, f.class + " "), f.message)))],
    d.figures.length > 0 && [el("h3", {}, "Figures"), el("div", {class: "scroll", tabindex: 0, role: "group", "aria-label": "Figures by condition"}, el("table", {},
      el("thead", {}, el("tr", {}, ["Condition", "Quantity", "Value"].map(t => el("th", {scope: "col"}, t)))),
      el("tbody", {}, byCondition.flatMap(c => d.figures.filter(f => f.condition === c).map((f, i) => el("tr", {},
        el("th", {scope: "row"}, i === 0 ? conditionTitle(c) : ""), el("td", {}, (f.id !== d.id ? f.id + " " : "") + f.quantity), el("td", {class: "num"}, f.text)))))))],
    d.lost && [el("h3", {}, "If this is lost"),
      d.dead.length + d.dry.length + d.only.length + d.uncharged.length === 0 ? el("p", {}, "Nothing stops that another way does not keep going.")
        : el("ul", {}, d.dead.map(t => el("li", {}, link(t.id), ` ${t.title}: dead at once`)), d.only.map(t => el("li", {}, link(t.id), ` ${t.title}: only ${t.while}`)), d.uncharged.map(t => el("li", {}, link(t.id), ` ${t.title}: no longer charged`)), d.dry.map(t => el("li", {}, link(t.id), ` ${t.title}: no water`))),
      d.dead.length + d.dry.length + d.only.length > 0 && el("button", {type: "button", id: "lost", "aria-pressed": String(showLost), onclick: () => { showLost = !showLost; markDetail(true); renderPart(); }}, "Show on the sheet")],
    el("h3", {}, "Ways back"),
    d.ways.length === 0 && el("p", {}, "No source and no hull opening can reach it."),
    d.ways.map(w => el("section", {class: "way"},
      el("p", {}, el("button", {type: "button", class: "plain", onclick: () => { showLost = false; markDetail(true, w); }}, `${w.word} ${w.to.id} ${w.to.title}`)),
      el("ol", {class: "steps"}, w.steps.map(s => el("li", {}, link(s.id), " ", s.text, s.shut && " (open or shut at rest)"))))));
}

const conditionTitle = id => id ? state.conditions.find(c => c.id === id)?.title || id : "always";

// --- conditions, lists, not checked, source

function table(head, rows, label) {
  return el("div", {class: "scroll", tabindex: 0, role: "group", "aria-label": label}, el("table", {},
    el("thead", {}, el("tr", {}, head.map(([t, right]) => el("th", {scope: "col", class: right && "num"}, t)))),
    el("tbody", {}, rows)));
}

function renderConditions() {
  const wanted = {hours: 1, voltage: 1, current: 1, flow: 1, "flow needed": 1, "temperature rise": 1, head: 1};
  const parts = new Set(state.things.filter(t => t.type === "part").map(t => t.id));
  const id = $("condition").value;
  const c = state.conditions.find(c => c.id === id);
  const rows = state.figures.filter(f => f.condition === id && wanted[f.quantity] && parts.has(f.id.split(".")[0]));
  fill(panel.conditions,
    el("label", {}, "Condition ", el("select", {id: "condition2", onchange: e => { $("condition").value = e.target.value; relayer(); renderConditions(); }},
      state.conditions.map(k => el("option", {value: k.id, selected: k.id === id}, k.title)))),
    c && el("p", {class: "tag"}, c.facts),
    rows.length ? table([["Part"], ["Title"], ["Quantity"], ["Value", true]], rows.map(f => el("tr", {},
      el("td", {}, link(f.id)), el("td", {}, titleOf(f.id)), el("td", {}, f.quantity), el("td", {class: "num"}, f.text))), "Figures of the condition")
      : el("p", {}, "Nothing is solved in this condition."));
}

let listName = "";
async function renderLists() {
  listName ||= state.lists[0];
  const pick = el("label", {}, "List ", el("select", {id: "list", onchange: e => { listName = e.target.value; renderLists(); }},
    state.lists.map(n => el("option", {value: n, selected: n === listName}, n))));
  if (!state.good) { panel.lists.replaceChildren(pick); return; }
  const t = await get("list/" + listName);
  panel.lists.replaceChildren(pick, el("h2", {}, t.title),
    table(t.columns.map(c => [c.title, c.right]), t.rows.map(r => el("tr", {}, r.map((x, i) => el("td", {class: t.columns[i].right && "num"}, x)))), t.title),
    ...t.notes.map(n => el("p", {class: "tag"}, n)));
}

function renderUnchecked() {
  panel.unchecked.replaceChildren(el("p", {}, "A judgement that lacks a datum is no judgement. These could not be made:"),
    state.unchecked.length ? table([["Missing"], ["Rule"], ["At"], ["Line", true]], state.unchecked.map(u => el("tr", {},
      el("td", {}, u.missing), el("td", {}, u.rule), el("td", {}, u.at.flatMap(id => [link(id), " "])),
      el("td", {class: "num"}, el("button", {type: "button", class: "plain", onclick: () => light(u.file, u.line)}, String(u.line))))), "Not checked")
      : el("p", {}, "Nothing: every rule had its data."));
}

let litAt = null;
function renderSource() {
  panel.source.replaceChildren(...sources.map(f => el("section", {}, el("h2", {}, f.name), el("pre", {tabindex: 0, role: "group", "aria-label": f.name},
    ...f.text.split("\n").map((t, i) => {
      const lit = litAt && litAt.file === f.name && litAt.line === i + 1;
      return el("span", {class: lit ? "lit" : "", "data-line": i + 1}, el("span", {class: "n"}, String(i + 1).padStart(4) + "  "), t + "\n");
    })))));
}

/** light shows a line of the file under the drawing and marks it in the source. */
function light(file, line) {
  litAt = file ? {file, line} : null;
  const f = sources.find(s => s.name === file);
  $("strip").hidden = !f;
  if (f) {
    const lines = f.text.split("\n"), from = Math.max(0, line - 3);
    $("strip").querySelector("h2").textContent = `${file}, line ${line}`;
    $("strip").querySelector("pre").replaceChildren(...lines.slice(from, line + 2).map((t, i) =>
      el("span", {class: from + i + 1 === line ? "lit" : ""}, el("span", {class: "n"}, String(from + i + 1).padStart(4) + "  "), t + "\n")));
  }
  renderSource();
  panel.source.querySelector(".lit")?.scrollIntoView({block: "center"});
}

// --- layers and pointer

function relayer() {
  if (sheet.svg()) lay(sheet.svg(), $("layer").value, $("condition").value, state.figures);
}
sheet.whenShown(relayer);
$("layer").addEventListener("change", relayer);
$("condition").addEventListener("change", () => { relayer(); renderConditions(); });
$("view").addEventListener("click", e => {
  if (sheet.dragging()) return;
  const hit = sheet.under(e.target);
  if (!hit) return;
  if (hit.finding) {
    const f = state.findings.find(f => f.number === hit.finding);
    if (f) { heeled = null; filter[f.severity] = true; open("findings"); chooseFinding(f); }
    return;
  }
  showLost = false;
  choose(hit.id);
});
document.addEventListener("keydown", e => {
  if (e.key !== "Escape") return;
  chosen = {};
  detail = null;
  sheet.mark({}, false);
  light(null);
  renderFindings();
  renderPart();
});

// --- live

let busy = Promise.resolve();
const queue = () => { busy = busy.then(refresh, refresh); };
const events = new EventSource("events");
events.addEventListener("state", queue);
events.addEventListener("sheets", queue);
events.onerror = () => { $("summary").textContent = "the program that serves this page does not answer; the page tries again"; };
