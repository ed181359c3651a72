// Small helpers: elements are built, never parsed from text, so that nothing the
// file says can become markup.

export const $ = id => document.getElementById(id);

/** el("p", {class: "tag", onclick: f}, "text", child) builds an element. */
export function el(name, props = {}, ...children) {
  const e = document.createElement(name);
  for (const [k, v] of Object.entries(props)) {
    if (v === undefined || v === null || v === false) continue;
    if (k.startsWith("on")) e.addEventListener(k.slice(2), v);
    else e.setAttribute(k, v === true ? "" : v);
  }
  e.append(...children.flat(3).filter(c => c !== null && c !== undefined && c !== false));
  return e;
}

/** fill puts children into an element; nested lists are laid flat, what is not there is left out. */
export function fill(e, ...children) {
  e.replaceChildren(...children.flat(3).filter(c => c !== null && c !== undefined && c !== false));
}

export function svgEl(name, props = {}, text) {
  const e = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [k, v] of Object.entries(props)) e.setAttribute(k, v);
  if (text !== undefined) e.textContent = text;
  return e;
}

export async function get(path) {
  const r = await fetch(path);
  if (!r.ok) throw new Error(`${path}: ${r.status}`);
  return r.json();
}

export function options(select, list, value) {
  select.replaceChildren(...list.map(([v, text]) => el("option", {value: v}, text)));
  if (list.some(([v]) => v === value)) select.value = value;
}
