// The diagram: pan, zoom, what is under a finger, and what lies over the
// drawing: probes, what is looked at, what lights up. It knows nothing of the
// server; page.js listens to it.
"use strict";

const Diagram = (() => {
  const svgNS = "http://www.w3.org/2000/svg";
  const reach = { mouse: 10, pen: 14, touch: 24 }; // pixels on the screen
  const frame = document.getElementById("drawing");
  const listeners = {};
  let svg, overlay, terminals = [], wires = [], parts = [];
  let texts, grips = {}; // boxes of the drawing's text; where the probes are held
  let least = 9; // size of the smallest text, in units of the drawing
  let view, shape = ""; // viewBox as {x, y, w, h}; shape names a layout
  let sheet, extent; // as written, and what is drawn on it once that was asked
  let cursor = "";
  let far; // the drawing once more below itself, for a probe far from the other
  let marks = { red: "", black: "", clamp: "", pick: "", hand: "red", lit: [] };

  const on = (what, then) => { listeners[what] = then; };
  const tell = (what, ...rest) => listeners[what] && listeners[what](...rest);

  // take reads a drawing that has been put in place. The view is kept where the
  // layout is the same.
  function take() {
    svg = frame.querySelector("svg");
    texts = overlay = far = extent = undefined;
    terminals = wires = parts = [];
    if (!svg) return;
    const size = svg.viewBox.baseVal;
    const key = size.width + "x" + size.height + ":" + svg.querySelectorAll("[data-terminal]").length;
    svg.removeAttribute("width");
    svg.removeAttribute("height");
    svg.setAttribute("preserveAspectRatio", "xMidYMid meet");
    terminals = [...svg.querySelectorAll("[data-terminal]")].map((e) => ({
      ref: e.dataset.terminal.replace(/^\d+\/|\/\d+$/g, ""), x: +e.getAttribute("cx"), y: +e.getAttribute("cy"), e,
    }));
    wires = [...svg.querySelectorAll("g.wire")].map((e) => ({ e, name: wireName(e), lines: lines(e) })).filter((w) => w.name);
    parts = [...svg.querySelectorAll("[data-box]")].map((e) => {
      const [x1, y1, x2, y2] = e.dataset.box.split(" ").map(Number);
      const part = e.closest("g.part");
      return { e, part, name: part ? part.dataset.part : "", x1, y1, x2, y2 };
    }).filter((p) => p.name);
    least = Math.min(...[...svg.querySelectorAll("text[font-size]")].map((t) => +t.getAttribute("font-size")), 14);
    sheet = { x: 0, y: 0, w: size.width, h: size.height };
    overlay = document.createElementNS(svgNS, "g");
    overlay.setAttribute("id", "overlay");
    svg.append(overlay);
    if (!view || key !== shape) {
      shape = key;
      first();
    }
    show();
    mark(marks);
  }

  // The feed of one load names its wires and parts by title and terminals.
  const wireName = (e) => e.id.slice(5) || ((e.querySelector("title") || { textContent: "" }).textContent.match(/^Wire (\S+?):/) || [])[1] || "";

  // whole is all that is drawn. To measure it the browser lays all text out, in vain where
  // the view stays.
  function whole() {
    if (extent) return extent;
    const inner = svg && svg.querySelector("g.diagram"), b = inner && inner.getBBox();
    return (extent = b && b.width > 0 && b.height > 0 ? { x: b.x - 12, y: b.y - 12, w: b.width + 24, h: b.height + 24 } : sheet);
  }

  // first is what is seen of a drawing at the beginning.
  function first() {
    if (tall()) {
      const w = Math.max(whole().w, Math.min(frame.clientWidth, 640));
      const top = Math.min(...terminals.map((t) => t.y)) - 70;
      view = { x: whole().x - (w - whole().w) / 2, y: top, w, h: w * frame.clientHeight / Math.max(1, frame.clientWidth) };
    } else fit();
  }

  const tall = () => whole().h > 3 * whole().w;

  function lines(wire) {
    const out = [];
    for (const path of wire.querySelectorAll("path")) {
      let at;
      for (const [, letter, x, y] of (path.getAttribute("d") || "").matchAll(/([ML])\s*(-?[\d.]+)[ ,](-?[\d.]+)/g)) {
        const to = { x: +x, y: +y };
        if (letter === "L" && at) out.push([at, to]);
        at = to;
      }
    }
    return out;
  }

  function show() {
    if (!svg || !view) return;
    if (far) far.remove();
    far = undefined;
    svg.setAttribute("viewBox", [view.x, view.y, view.w, view.h].map((v) => v.toFixed(1)).join(" "));
  }

  // scale is pixels on the screen to a unit of the drawing.
  function scale() {
    const box = frame.getBoundingClientRect();
    return Math.min(box.width / view.w, box.height / view.h) || 1;
  }

  function toDrawing(clientX, clientY) {
    const m = svg && svg.getScreenCTM();
    return m ? new DOMPoint(clientX, clientY).matrixTransform(m.inverse()) : { x: 0, y: 0 };
  }

  // readable is the scale at which the smallest text has 9 pixels, on a wall 15.
  const readable = () => (document.body.dataset.wall ? 15 : 9) / least;

  // fit shows all of the drawing where it can be read, else as much of it as can,
  // about what is looked at.
  function fit() {
    if (!svg) return;
    view = { ...whole() };
    if (scale() < readable()) {
      const at = parts.find((p) => p.part && p.part.matches(".interest")) || parts.find((p) => p.name === (marks.load || "").split(".")[0]);
      about(at ? (at.x1 + at.x2) / 2 : whole().x + whole().w / 2, at ? (at.y1 + at.y2) / 2 : whole().y + whole().h / 2, readable());
    }
    show();
  }

  // alone shows all of the drawing however small, and then again what was seen.
  let seen;
  function alone(on) {
    if (!svg) return;
    if (on) [seen, view] = [view, { ...whole() }];
    else if (seen) view = seen;
    show();
  }

  // about shows a place at a scale, and no more beside the drawing than must be: keys
  // lie over the frame's upper and lower edge.
  function about(x, y, scale, share = 1) {
    const w = frame.clientWidth / scale, h = share * frame.clientHeight / scale, keys = 48 / scale;
    const within = (at, from, all, mine) => (mine >= all ? from - (mine - all) / 2 : Math.min(Math.max(at - mine / 2, from), from + all - mine));
    view = { x: within(x, whole().x, whole().w, w), y: within(y, whole().y - keys, whole().h + 2 * keys, h), w, h };
  }

  // extentOf is where a terminal, by its name, a part or a wire lies.
  function extentOf(ref) {
    const [, kind, name] = ref.match(/^(part|wire|t)[:-](.+)/) || [, "t", ref];
    if (kind === "part") return parts.find((p) => p.name === name);
    const ends = kind === "t" ? [terminals.find((t) => t.ref === name)].filter(Boolean) : (wires.find((w) => w.name === name) || { lines: [] }).lines.flat();
    return ends.length ? extents(ends.map(({ x, y }) => ({ x1: x, x2: x, y1: y, y2: y }))) : undefined;
  }

  const extents = (all) => ({ x1: Math.min(...all.map((b) => b.x1)), x2: Math.max(...all.map((b) => b.x2)), y1: Math.min(...all.map((b) => b.y1)), y2: Math.max(...all.map((b) => b.y2)) });
  const middle = (b) => [(b.x1 + b.x2) / 2, (b.y1 + b.y2) / 2];

  // focus shows terminals, parts and wires together, as large as that can be and be read;
  // where they are too far apart for that the most that there are together, or of two
  // terminals each in a half of the frame.
  function focus(refs) {
    const on = refs.filter(Boolean).map(extentOf).filter(Boolean);
    if (!on.length || !frame.clientWidth) return;
    const all = extents(on);
    const most = Math.min(frame.clientWidth / (all.x2 - all.x1 + 120), frame.clientHeight / (all.y2 - all.y1 + 120));
    if (most >= readable() || on.length !== 2 || refs.some((ref) => ref.includes(":"))) {
      const w = frame.clientWidth / readable() / 2, h = frame.clientHeight / readable() / 2;
      const near = (b) => on.map(middle).filter(([x, y]) => Math.abs(x - middle(b)[0]) < w && Math.abs(y - middle(b)[1]) < h).length;
      about(...middle(most >= readable() ? all : on.reduce((m, b) => (near(b) > near(m) ? b : m))), Math.max(readable(), Math.min(1.3, most)));
      return show();
    }
    about(...middle(on[1]), readable(), 0.5);
    show();
    const below = svg.cloneNode(true);
    below.classList.add("far");
    below.setAttribute("aria-hidden", "true");
    about(...middle(on[0]), readable(), 0.5);
    show();
    frame.append(far = below);
  }

  // toPick goes to a part or wire, or the first of several.
  function toPick(pick) {
    const [, kind, name] = pick.match(/^(\w+)[:-](\S+)/) || [];
    if (kind === "part") return toPart(name);
    const wire = wires.find((w) => w.name === name);
    if (!wire || !wire.lines.length) return;
    const [a, b] = wire.lines[Math.floor(wire.lines.length / 2)];
    about((a.x + b.x) / 2, (a.y + b.y) / 2, 1);
    show();
  }

  // wholly shows all of the drawing for print, and then again what was seen.
  function wholly(on) {
    if (!svg) return;
    show();
    if (on) svg.setAttribute("viewBox", [whole().x, whole().y, whole().w, whole().h].join(" "));
  }

  // away takes the drawing out of the page, and puts it back: names of what it is
  // made of are those of the sheets too.
  function away(out) {
    if (!svg) return;
    show();
    if (out) svg.remove();
    else if (!svg.isConnected) frame.append(svg);
  }

  function zoom(by, clientX, clientY) {
    if (!view) return;
    const box = frame.getBoundingClientRect();
    const at = toDrawing(clientX ?? box.x + box.width / 2, clientY ?? box.y + box.height / 2);
    const w = Math.min(whole().w * 1.5, Math.max(120, view.w / by));
    const k = w / view.w;
    view = { x: at.x - (at.x - view.x) * k, y: at.y - (at.y - view.y) * k, w, h: view.h * k };
    show();
  }

  function pan(dx, dy) {
    view.x -= dx / scale();
    view.y -= dy / scale();
    view.x = Math.min(whole().x + whole().w - view.w * 0.1, Math.max(whole().x - view.w * 0.9, view.x));
    view.y = Math.min(whole().y + whole().h - view.h * 0.1, Math.max(whole().y - view.h * 0.9, view.y));
    show();
  }

  // toPart brings a part to the middle, large enough to be read.
  function toPart(name, most = 1.1) {
    const p = parts.find((p) => p.name === name);
    if (!p) return;
    about((p.x1 + p.x2) / 2, (p.y1 + p.y2) / 2, Math.min(most, frame.clientWidth / (p.x2 - p.x1 + 80)));
    show();
  }

  function toLoad(most) {
    const load = svg && svg.querySelector(".part.interest");
    toPart(load ? load.dataset.part : (marks.load || "").split(".")[0], most);
  }

  // at finds what is meant by a point: a terminal near by, else the part or
  // wire.
  function at(clientX, clientY, pointer) {
    const p = toDrawing(clientX, clientY);
    const near = (reach[pointer] || reach.touch) / scale();
    const away = (x, y) => Math.hypot(x - p.x, y - p.y);
    const [t] = terminals.map((t) => ({ t, d: away(t.x, t.y) })).sort((a, b) => a.d - b.d);
    const part = parts.find((q) => p.x >= q.x1 && p.x <= q.x2 && p.y >= q.y1 && p.y <= q.y2);
    let wire, least = near;
    for (const w of wires) for (const [a, b] of w.lines) {
      const len = (b.x - a.x) ** 2 + (b.y - a.y) ** 2;
      const k = len ? Math.min(1, Math.max(0, ((p.x - a.x) * (b.x - a.x) + (p.y - a.y) * (b.y - a.y)) / len)) : 0;
      const d = away(a.x + k * (b.x - a.x), a.y + k * (b.y - a.y));
      if (d < least) [least, wire] = [d, w];
    }
    const terminal = t && t.d <= near && !(part && t.d > near / 2) ? t.t : undefined;
    return { terminal, part, wire: terminal || part ? undefined : wire, under: wire };
  }

  function make(name, attributes, text) {
    const e = document.createElementNS(svgNS, name);
    for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
    if (text) e.textContent = text;
    overlay.append(e);
    return e;
  }

  // mark draws the probes, the clamp, what is looked at and the cursor.
  function mark(next) {
    marks = { ...marks, ...next };
    if (!overlay) return;
    overlay.replaceChildren();
    grips = {};
    const [kind, name] = (marks.pick || ":").split(":");
    for (const p of parts) if (kind === "part" && p.name === name)
      make("rect", { class: "picked", x: p.x1 - 5, y: p.y1 - 5, width: p.x2 - p.x1 + 10, height: p.y2 - p.y1 + 10, rx: 5 });
    for (const w of wires) {
      w.e.classList.toggle("picked", kind === "wire" && w.name === name);
      if (marks.clamp && w.name === marks.clamp && w.lines.length) {
        const [a, b] = w.lines.reduce((m, l) => (span(l) > span(m) ? l : m));
        make("circle", { class: "clamp", cx: (a.x + b.x) / 2, cy: (a.y + b.y) / 2, r: 9 });
        make("text", { class: "probe-letter", x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 + 4, "text-anchor": "middle" }, "A");
      }
    }
    for (const which of ["black", "red"]) for (const t of terminals) if (t.ref === marks[which]) {
      const { x, y } = grips[which] = grip(t, which === "red" ? -1 : 1);
      make("path", { class: "probe " + which, d: `M${t.x} ${t.y}L${x} ${y}` });
      make("circle", { class: "probe " + which, cx: t.x, cy: t.y, r: 4.5 });
      make("circle", { class: "probe grip " + which, cx: x, cy: y, r: 9 });
      make("text", { class: "probe-letter", x, y: y + 4, "text-anchor": "middle" }, which === "red" ? "R" : "B");
    }
    light();
    const c = terminals.find((t) => t.ref === cursor);
    if (c) make("circle", { class: "cursor", cx: c.x, cy: c.y, r: 9 });
  }

  // grip is where a probe is held: to its side, where it covers no text, and its lead
  // crosses none, or as little of it as can be.
  function grip(t, side) {
    texts ||= [...svg.querySelectorAll("text")].filter((e) => !overlay.contains(e)).map((e) => e.getBBox());
    const under = (x, y, r) => texts.filter((b) => x + r > b.x && x - r < b.x + b.width && y + r > b.y && y - r < b.y + b.height).length;
    const covers = ({ x, y }) => 3 * under(x, y, 9) + under((x + t.x) / 2, (y + t.y) / 2, 2) + under((3 * x + t.x) / 4, (3 * y + t.y) / 4, 2);
    const all = [[17, -24], [24, -18], [17, 24], [24, -38], [8, -44], [30, 32], [36, -56], [34, -15], [34, 15]].map(([dx, dy]) => ({ x: t.x + side * dx, y: t.y + dy }));
    return all.reduce((best, at) => (covers(at) < covers(best) ? at : best));
  }

  const span = ([a, b]) => Math.abs(a.x - b.x) + Math.abs(a.y - b.y);

  // light shows pieces of the drawing by id, and terminals by "t:ref"; without any those
  // that what is read names.
  function light(names = marks.lit) {
    if (!svg || !overlay) return;
    for (const e of svg.querySelectorAll(".lit")) e.classList.remove("lit");
    for (const e of overlay.querySelectorAll(".spot")) e.remove();
    svg.classList.toggle("dimmed", names.length > 0);
    for (const name of names.map((n) => n.replace(/^(part|wire):/, "$1-"))) {
      if (name.startsWith("t:")) {
        for (const t of terminals) if (t.ref === name.slice(2)) make("circle", { class: "spot", cx: t.x, cy: t.y, r: 6 });
        continue;
      }
      for (const w of wires) if ("wire-" + w.name === name) w.e.classList.add("lit");
      for (const p of parts) if ("part-" + p.name === name)
        make("rect", { class: "spot", x: p.x1 - 4, y: p.y1 - 4, width: p.x2 - p.x1 + 8, height: p.y2 - p.y1 + 8, rx: 4 });
    }
  }

  // Pointers: one drags the drawing or a probe, two pinch.
  const down = new Map();
  let moved = 0, held = "", pinch = 0;

  function probeAt(clientX, clientY, pointer) {
    const p = toDrawing(clientX, clientY);
    const near = (reach[pointer] || reach.touch) / scale() / 1.4;
    for (const which of ["red", "black"]) {
      const g = marks[which] && grips[which];
      if (g && Math.hypot(g.x - p.x, g.y - p.y) < Math.max(near, 10)) return which;
    }
    return "";
  }

  frame.addEventListener("pointerdown", (e) => {
    if (!svg || e.button > 0) return;
    if (far) { // what is touched of the two is gone on with
      if (e.target.closest("svg") === far) [view.x, view.y, view.w, view.h] = far.getAttribute("viewBox").split(" ").map(Number);
      return show();
    }
    frame.setPointerCapture(e.pointerId);
    down.set(e.pointerId, { x: e.clientX, y: e.clientY });
    if (down.size === 1) {
      moved = 0;
      held = probeAt(e.clientX, e.clientY, e.pointerType);
    } else pinch = gap();
  });
  frame.addEventListener("pointermove", (e) => {
    const was = down.get(e.pointerId);
    if (!was) return;
    const dx = e.clientX - was.x, dy = e.clientY - was.y;
    down.set(e.pointerId, { x: e.clientX, y: e.clientY });
    moved += Math.hypot(dx, dy);
    if (down.size === 2) {
      const now = gap(), [a, b] = [...down.values()];
      if (pinch > 0) zoom(now / pinch, (a.x + b.x) / 2, (a.y + b.y) / 2);
      pinch = now;
      pan(dx / 2, dy / 2);
    } else if (held) {
      const { terminal } = at(e.clientX, e.clientY, "touch");
      if (moved > 6) mark({ [held]: terminal ? terminal.ref : marks[held] });
    } else if (moved > 6) pan(dx, dy);
  });
  const up = (e) => {
    if (!down.delete(e.pointerId) || down.size > 0) return;
    const was = held;
    held = "";
    if (was && moved > 6) tell("probe", was, marks[was]);
    else if (moved <= 6 && e.type === "pointerup") tell("tap", at(e.clientX, e.clientY, e.pointerType));
  };
  frame.addEventListener("pointerup", up);
  frame.addEventListener("pointercancel", up);
  frame.addEventListener("wheel", (e) => {
    if (!svg) return;
    e.preventDefault();
    zoom(Math.exp(-e.deltaY * (e.deltaMode ? 0.05 : 0.0016)), e.clientX, e.clientY);
  }, { passive: false });

  function gap() {
    const [a, b] = [...down.values()];
    return Math.hypot(a.x - b.x, a.y - b.y);
  }

  // Keys: the arrows walk to the nearest terminal that way.
  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

  function walk([dx, dy]) {
    const from = terminals.find((t) => t.ref === cursor) || terminals.find((t) => t.ref === marks.red);
    if (!from) return step(terminals[0]);
    let best, least = Infinity;
    for (const t of terminals) {
      const along = (t.x - from.x) * dx + (t.y - from.y) * dy;
      const beside = Math.abs((t.x - from.x) * dy) + Math.abs((t.y - from.y) * dx);
      if (along > 1 && along + 2.5 * beside < least) [best, least] = [t, along + 2.5 * beside];
    }
    step(best || from);
  }

  function step(t) {
    if (!t) return;
    cursor = t.ref;
    const margin = Math.min(view.w, view.h) * 0.1;
    if (t.x < view.x + margin || t.x > view.x + view.w - margin || t.y < view.y + margin || t.y > view.y + view.h - margin) {
      view.x = t.x - view.w / 2;
      view.y = t.y - view.h / 2;
      show();
    }
    mark({});
    tell("cursor", t.ref);
  }

  frame.addEventListener("keydown", (e) => {
    if (!svg || e.ctrlKey || e.metaKey || e.altKey) return;
    const way = ways[e.key];
    if (way && e.shiftKey) pan(-60 * way[0], -60 * way[1]);
    else if (way) walk(way);
    else if (e.key === "+" || e.key === "=") zoom(1.3);
    else if (e.key === "-") zoom(1 / 1.3);
    else if (e.key === "0") fit();
    else if (cursor && (e.key === "r" || e.key === "R")) tell("probe", "red", cursor);
    else if (cursor && (e.key === "b" || e.key === "B")) tell("probe", "black", cursor);
    else if (cursor && e.key === "Enter") {
      const t = terminals.find((t) => t.ref === cursor);
      const part = t && t.e.closest("g.part");
      if (part) tell("look", "part:" + part.dataset.part);
    } else if (e.key === "Escape") {
      cursor = "";
      mark({});
      light([]);
    } else return;
    e.preventDefault();
  });

  return { on, take, mark, light, zoom, fit, focus, toLoad, toPick, alone, whole: wholly, away, put: (html) => { frame.innerHTML = html; take(); } };
})();
