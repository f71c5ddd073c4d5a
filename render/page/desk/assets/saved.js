// The saved page: looks up in its dictionary what the engine worked out when
// the page was made. The state is in the address after the hash.
"use strict";

(async () => {
  const $ = (id) => document.getElementById(id);
  const packed = Uint8Array.from(atob($("data").textContent.trim()), (c) => c.charCodeAt(0));
  const data = await new Response(new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"))).json();
  const placeOf = new Map(data.places.map((ref, i) => [ref, i]));
  const first = { mode: $("mode").value, panel: "loads", meter: "volts" };
  let hand = "red", drawn = "", state = read();

  function read() {
    return { ...first, ...Object.fromEntries(new URLSearchParams(location.hash.slice(1))) };
  }

  function go(change) {
    const next = { ...state, ...change };
    for (const k of Object.keys(next)) if (!next[k] || next[k] === first[k]) delete next[k];
    history.pushState(null, "", "#" + new URLSearchParams(next));
    state = read();
    show();
  }

  const index = (list, ref) => Math.max(0, list.findIndex((x) => x.ref === ref));
  const off = () => state.supply === "off";

  // figure writes a number as the meter does: in three or four digits.
  function figure(v) {
    const a = Math.abs(v);
    if (a < 0.005) return "0";
    if (a >= 100) return v.toFixed(0);
    return String(+v.toFixed(a >= 10 ? 1 : 2));
  }

  const between = (o, p, q) => {
    const a = o.v[o.n[p]], b = o.v[o.n[q]];
    return a[2] === b[2] ? Math.hypot(a[0] - b[0], a[1] - b[1]) : undefined;
  };

  function ohms(c, p, q) {
    const a = Math.min(c.n[p], c.n[q]), b = Math.max(c.n[p], c.n[q]);
    if (a === b) return 0;
    const found = c.r.find((r) => r[0] === a && r[1] === b);
    return found ? found[2] : Infinity;
  }

  // reading is what the meter shows: {shows}, {refused} or {prompt}.
  function reading(on, dead) {
    const f = state.meter, p = placeOf.get(state.red), q = placeOf.get(state.black);
    if (f === "amps") {
      const w = data.wires.indexOf(state.clamp);
      if (w < 0) return { prompt: "Close the clamp around one wire." };
      const a = on.a.find((x) => x[0] === w);
      return { shows: figure(a ? a[1] : 0) + " A" };
    }
    if (p === undefined || q === undefined) return { prompt: "Place both probes: tap two terminals, or choose them here." };
    if (p === q) return { refused: "Both probes are on " + state.red + "." };
    if (f === "volts" || f === "lowz") {
      for (const t of [p, q]) if (!off() && data.refused.includes(t)) return { refused: data.places[t] + " is to be probed with the supply off only." };
      const v = between(on, p, q);
      if (v === undefined) return { shows: f === "lowz" ? "0 V" : "unsteady", more: "one place is tied to nothing: stray pickup" };
      return { shows: figure(v) + " V" };
    }
    if (!off()) return { refused: "The supply is on. Resistance on a live circuit harms the meter and you, and reads wrong. Turn the supply off, lock it out, prove the meter, test dead." };
    for (const t of [p, q]) {
      const [re, im, island] = on.v[on.n[t]];
      if (data.house.includes(t) || island === 0 && Math.hypot(re, im) >= data.hazard) return { refused: data.places[t] + " stays live with the breaker off: it is on the house side." };
    }
    const r = ohms(dead, p, q);
    return { shows: r > data.most ? "OL" : figure(r) + " Ω", more: f === "continuity" ? (r < data.beep ? "beeps" : "silent") : "in circuit" };
  }

  const element = (name, text, attributes = {}) => {
    const e = document.createElement(name);
    if (text !== undefined) e.textContent = text;
    for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
    return e;
  };
  const button = (text, then, attributes) => {
    const e = element("button", text, { type: "button", ...attributes });
    e.addEventListener("click", then);
    return e;
  };

  function show() {
    const m = index(data.modes, state.mode), f = index(data.faults, state.fault);
    const on = data.live[(off() ? data.gone : data.on)[m][f]], dead = data.cold[data.dead[m][f]];
    if (drawn !== state.mode) Diagram.put(data.drawings[m]);
    drawn = state.mode;
    $("drawing").classList.toggle("plain", f > 0 || off());
    Diagram.mark({ red: state.red || "", black: state.black || "", clamp: state.meter === "amps" ? state.clamp : "", pick: state.pick || "", broken: data.faults[f].at || "" });
    for (const id of ["mode", "red", "black", "clamp", "pick"]) $(id).value = state[id] || "";
    for (const r of document.querySelectorAll("[name=meter]")) r.checked = r.value === state.meter;
    document.querySelector(".probes").hidden = state.meter === "amps";
    document.querySelector(".clamp").hidden = state.meter !== "amps";
    $("supply-on").setAttribute("aria-current", String(!off()));
    $("supply-off").setAttribute("aria-current", String(off()));
    screen(reading(on, dead));
    $("notices").replaceChildren(...(off() ? [] : on.s || []).map((s) => element("p", s, { class: "alert" })));
    loads(on);
    broken(f);
    look(on, f);
    standing(f);
    if ($("breaks").dataset.mode !== state.mode) {
      $("breaks").replaceChildren(...new DOMParser().parseFromString(data.cuts[m], "text/html").getElementById("breaks").childNodes);
      $("breaks").dataset.mode = state.mode;
    }
    panels();
  }

  function screen(r) {
    const out = [];
    if (r.refused) {
      const p = element("p", undefined, { class: "refused" });
      p.append(element("strong", "Refused. "), r.refused);
      out.push(p);
    } else if (r.shows) {
      out.push(element("output", r.shows, { id: "reading" }));
      if (r.more) out.push(element("span", r.more, { class: "range" }));
    } else out.push(element("p", r.prompt, { class: "prompt" }));
    $("screen").replaceChildren(...out);
  }

  function loads(on) {
    $("load-rows").replaceChildren(...data.loads.map((l, i) => {
      const [v, a, share] = on.l[i], row = element("tr", undefined, { "data-load": l.ref });
      row.append(element("th", l.label, { scope: "row" }), element("td", figure(v)), element("td", figure(a)), element("td", figure(share * l.watts)), element("td", Math.round(share * 100) + " %"));
      return row;
    }));
  }

  function broken(f) {
    $("broken").classList.toggle("empty", f === 0);
    const line = element("li", data.faults[f].label + " ");
    line.append(button("Mend", () => go({ fault: "" })));
    const list = element("ul");
    list.append(line);
    $("broken").replaceChildren(...(f ? [list] : []));
  }

  function look(on, f) {
    const [kind, name] = (state.pick || ":").split(":");
    const ways = data.faults.map((x, i) => [x, i]).filter(([x]) => x.at && x.at === state.pick);
    const list = element("ul", undefined, { class: "ways" });
    for (const [x, i] of ways) {
      const item = element("li");
      item.append(i === f ? element("b", x.label) : button(x.label, () => go({ fault: x.ref }), { "data-break": x.ref }));
      list.append(item);
    }
    const terminals = element("ul", undefined, { class: "terminals" });
    for (const [ref, t] of placeOf) if (kind === "part" && (ref === name || ref.startsWith(name + "."))) {
      const [re, im, island] = on.v[on.n[t]], item = element("li");
      item.append(element("span", ref + " " + (island === 0 ? figure(Math.hypot(re, im)) + " V to N" : "tied to nothing")),
        button("Red", () => go({ red: ref })), button("Black", () => go({ black: ref })));
      terminals.append(item);
    }
    $("looked").replaceChildren(...(state.pick ? [terminals, element("h3", "Break it"), list] : []));
  }

  // standing lists what is live with the machine switched off and plugged in.
  function standing(f) {
    const o = data.live[data.on[data.off][f]], at = new Map();
    data.places.forEach((ref, t) => {
      const v = between(o, t, data.chassis);
      if (v !== undefined && v >= data.hazard) at.set(figure(v), [...(at.get(figure(v)) || []), ref]);
    });
    $("standing-rows").replaceChildren(...[...at].map(([v, refs]) => {
      const item = element("li", undefined, { tabindex: "0" });
      item.append(element("b", v + " V "), refs.join(", "));
      item.dataset.light = refs.map((r) => "t:" + r).join(" ");
      return item;
    }));
  }

  function panels() {
    for (const p of document.querySelectorAll(".panel")) p.hidden = p.id !== state.panel;
    for (const a of document.querySelectorAll("#tabs a")) a.setAttribute("aria-current", String(a.hash === "#" + state.panel));
    for (const b of document.querySelectorAll("[data-hand]")) b.setAttribute("aria-pressed", String(b.dataset.hand === hand));
  }

  document.addEventListener("click", (e) => {
    const link = e.target.closest("a"), b = e.target.closest("button");
    if (link) {
      e.preventDefault();
      const fault = new URLSearchParams(link.search).get("break");
      if (link.closest("#tabs")) go({ panel: link.hash.slice(1) });
      else if (fault) go({ fault });
    } else if (b && b.dataset.hand) {
      hand = b.dataset.hand;
      panels();
    } else if (b && b.dataset.zoom) ({ in: () => Diagram.zoom(1.4), out: () => Diagram.zoom(1 / 1.4), fit: Diagram.fit, load: Diagram.toLoad })[b.dataset.zoom]();
    else if (b && b.id === "supply-on") go({ supply: "" });
    else if (b && b.id === "supply-off") go({ supply: "off" });
    else if (b && b.id === "swap") go({ red: state.black, black: state.red });
    else if (b && b.id === "undo") history.back();
    else if (b && b.id === "redo") history.forward();
    else if (b && b.id === "theme") {
      const root = document.documentElement;
      const dark = root.dataset.theme ? root.dataset.theme === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
      root.dataset.theme = dark ? "light" : "dark";
    }
  });
  document.addEventListener("change", (e) => go({ [e.target.id || e.target.name]: e.target.value }));
  addEventListener("popstate", () => { state = read(); show(); });

  const lit = (e) => {
    const item = e.target.closest && e.target.closest(".cuts li");
    const all = item ? [item, ...item.querySelectorAll("[data-light]")] : [];
    Diagram.light(all.flatMap((x) => (x.dataset.light || "").split(" ")).filter(Boolean));
  };
  document.addEventListener("mouseover", lit);
  document.addEventListener("focusin", lit);

  const probe = (which, ref) => {
    if (which === "red" && hand === "red" && !state.black) hand = "black";
    go({ [which]: ref, meter: state.meter === "amps" ? "" : state.meter });
  };
  Diagram.on("probe", probe);
  Diagram.on("look", (pick) => go({ pick, panel: "look" }));
  Diagram.on("cursor", () => {});
  Diagram.on("tap", ({ terminal, part, wire, under }) => {
    if (state.meter === "amps" && (wire || under) && hand !== "look") go({ clamp: (wire || under).name });
    else if (terminal && hand !== "look") probe(hand, terminal.ref);
    else if (part) go({ pick: "part:" + part.name, panel: "look" });
    else if (wire) go({ pick: "wire:" + wire.name, panel: "look" });
  });

  document.documentElement.classList.add("scripted");
  show();
})();
