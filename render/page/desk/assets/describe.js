// A machine being written down: its netlist's text is kept in this browser at
// every line, and handed to Home.ask with the next one. What is tapped and what is
// typed are the same lines.
"use strict";

const Describe = (() => {
  const $ = (id) => document.getElementById(id);
  let page; // go, say, show and busy
  let draft; // { id, file, text, past, ring }
  let known; // what the check said before
  let pending; // a line that waits for a part, and the form it came from
  let drawing = 0, asked = 0;
  let offered = ""; // where to go on from, as the row had it
  let named = new Map(), labels = new Map(); // terminals by their labels in small letters, labels by terminals

  // A step back is where the text differs from what it was, so that all of them
  // can be kept.
  function step(before, after) {
    let head = 0, tail = 0;
    const least = Math.min(before.length, after.length);
    while (head < least && before[head] === after[head]) head++;
    while (tail < least - head && before[before.length - 1 - tail] === after[after.length - 1 - tail]) tail++;
    return [head, before.slice(head, before.length - tail), after.length - head - tail];
  }
  const back = (text, [at, was, length]) => text.slice(0, at) + was + text.slice(at + length);

  function keep() {
    const { id, ...rest } = draft;
    if (!Store.write("draft", id, { ...rest, at: Date.now() })) page.show("This browser keeps nothing (private browsing, or it is full): save the machine as a file.");
  }

  // work waits for an answer, and says so.
  async function work(answer) {
    page.busy(true);
    try {
      return (await answer).html;
    } finally {
      page.busy(false);
    }
  }

  const request = (text, more) => Home.ask("/describe", "?" + new URLSearchParams({ file: draft.file, ...more }), text);

  // enter takes a line, of a form; the empty one only looks at the text.
  async function enter(line, form) {
    const mine = ++asked, left = form && !$("part-row").hidden && pending.line !== line ? `Left out, as it was not said what ${$("part-row").dataset.part} is: ${pending.line}` : "";
    try {
      const got = JSON.parse(await work(request(draft.text, { line })));
      if (mine !== asked) return;
      const taken = take(got, line, form);
      if (left) $("sheet-said").append(paragraph(left, "said"));
      return taken;
    } catch (error) {
      wrong(error.message);
    }
  }

  function take(got, line, form) {
    wrong(got.wrong || "");
    if (got.unknown) return ask(got, { line, form });
    if (got.wrong) return false;
    $("part-row").hidden = true;
    const on = form && form.contains(document.activeElement); // the person has not gone elsewhere meanwhile
    for (const name of ["from", "to", "line"]) if (form && form.elements[name]) form.elements[name].value = "";
    if (got.text !== draft.text) {
      draft.past.push(step(draft.text, got.text));
      draft.text = got.text;
    }
    draft.title = got.title;
    keep();
    show(got);
    if (on && form.id === "wire-row") (form.elements.from.value ? form.elements.to : form.elements.from).focus();
    return true;
  }

  // show puts what was answered in its places.
  function show(got) {
    $("sheet").innerHTML = got.html;
    $("sheet-text").value = draft.text;
    $("sheet-undo").disabled = !draft.past.length;
    for (const id of ["sheet-find", "sheet-explore"]) $(id).disabled = !got.sound;
    if (got.ends) {
      labels = new Map(got.ends);
      named = new Map(got.ends.map(([ref, label]) => [label.toLowerCase(), ref]));
      $("sheet-ends").replaceChildren(...got.ends.map(([ref, label]) => new Option("", named.get(label.toLowerCase()) === ref ? label : ref)));
    }
    $("ring-of").replaceChildren(new Option("choose", ""), ...[...$("sheet").querySelectorAll("[data-pins]:not([data-pins=''])")].map((tr) => new Option(tr.querySelector("th").textContent, tr.dataset.pins)));
    const words = (f) => f.text.replace(/\d/g, ""), now = (got.found || []).map(words);
    const news = (got.found || []).filter((f) => known && !known.has(words(f)));
    known = new Set(now);
    $("sheet-found").replaceChildren(...(got.found || []).map((f) => paragraph(f.where ? f.where + ": " + f.text : f.text, news.includes(f) ? "alert" : "help")),
      paragraph(got.open ? got.open + " left without a wire so far." : "", "help"));
    $("sheet-said").replaceChildren(...(got.said || []).map((s) => s.split(" ").map(called).join(" ")).concat(news.map((f) => f.text)).map((s) => paragraph(s, "said")));
    const from = $("wire-row").elements.from;
    if (!from.value || from.value === offered) from.value = offered = got.next;
    clearTimeout(drawing);
    drawing = setTimeout(draw, 500);
  }

  // called is the label of a terminal, or what else somebody calls a pin.
  const called = (pin) => labels.get(pin) || pin;

  const paragraph = (text, className) => Object.assign(document.createElement("p"), { textContent: text, className });

  async function draw() {
    const text = draft && draft.text;
    try {
      const svg = (await request(text, { draw: 1 })).html;
      if (!draft || draft.text !== text || !$("describe")) return;
      if (svg) document.body.dataset.stage = "1";
      else delete document.body.dataset.stage;
      Diagram.put(svg);
    } catch { /* the one before stays */ }
  }

  function wrong(text) {
    $("sheet-wrong").textContent = text;
    $("sheet-wrong").hidden = !text;
    if (text) $("sheet-wrong").scrollIntoView({ block: "nearest" });
  }

  // ask asks what a new part is; the line waits.
  function ask(got, waits) {
    pending = waits;
    const row = $("part-row");
    row.hidden = false;
    row.dataset.part = got.unknown;
    $("part-ask").textContent = `${got.unknown} is new${got.near ? ` (or is it ${got.near}?)` : ""}. What is it?`;
    for (const b of row.querySelectorAll("[data-kind]")) b.setAttribute("aria-pressed", "false");
    $("part-needs").hidden = true;
    $("part-add").disabled = true;
    row.scrollIntoView({ block: "nearest" });
    page.say($("part-ask").textContent);
    return false;
  }

  const units = { volts: "V", watts: "W", secondary_volts: "V", ohms: "ohm", microfarads: "uF" };

  function choose(button) {
    const off = button.getAttribute("aria-pressed") === "true"; // and all are to choose from again
    for (const b of button.parentNode.children) b.setAttribute("aria-pressed", String(b === button && !off));
    const needs = $("part-needs");
    $("part-add").disabled = needs.hidden = off;
    if (off) return;
    const field = (name, words, hint) => {
      const input = Object.assign(document.createElement("input"), { name, placeholder: hint || "", inputMode: units[name] ? "decimal" : "text", required: !!units[name], autocapitalize: "none" });
      const label = document.createElement("label");
      label.append(words + " ", input);
      return label;
    };
    needs.replaceChildren(...button.dataset.needs.split(" ").filter(Boolean).map((n) => field(n, n.replace("_", " ") + ", " + units[n])),
      field("more", button.dataset.form ? "Also: " + button.dataset.form : "Also"), field("place", "Where it is"));
    if (button.dataset.poles) poles(needs.querySelector("[name=more]"));
    needs.querySelector("input").focus();
  }

  // poles begins a part's with those that the line goes to.
  function poles(input) {
    const of = $("part-row").dataset.part + ".";
    input.required = true;
    input.value = pending.line.split(" ").filter((w) => w.startsWith(of)).map((w) => w.slice(of.length) + " ").join("");
  }

  async function part() {
    const row = $("part-row"), kind = row.querySelector("[aria-pressed=true]").dataset.kind;
    const words = [kind];
    for (const input of $("part-needs").querySelectorAll("input")) {
      if (!input.value.trim()) continue;
      words.push(units[input.name] ? input.value.trim() + units[input.name] : input.name === "place" ? "@" + input.value.trim() : input.value.trim());
    }
    const waiting = pending;
    if (await enter(row.dataset.part + ": " + words.join(" "))) await enter(waiting.line, waiting.form);
  }

  function wire(form) {
    const f = form.elements;
    return enter([f.from, f.colour, f.gauge, f.to].map((i) => i.value.trim()).filter(Boolean).map((typed) => named.get(typed.toLowerCase()) || typed).join(" "), form);
  }

  // slug is a name as a netlist has it: what else was typed becomes "-".
  const slug = (typed) => typed.trim().replace(/[^A-Za-z0-9_-]+/g, "-");

  function mode(form) {
    const typed = form.elements.name.value.trim(), name = slug(typed), label = form.elements.label.value || (typed === name ? "" : typed);
    const words = ["mode", name];
    if (label) words.push(`"${label.replaceAll('"', "")}"`);
    for (const s of form.querySelectorAll("[data-set]")) if (s.value) words.push(s.dataset.set + "=" + s.value);
    for (const s of form.querySelectorAll("[data-celsius]")) if (s.value) words.push(s.dataset.celsius + "=" + s.value + "C");
    for (const s of form.querySelectorAll("[data-drives]:checked")) words.push(s.dataset.drives);
    words.push("on", ...[...form.querySelectorAll("[data-working]:checked")].map((s) => s.dataset.working));
    return enter(words.join(" "));
  }

  async function open(id, fresh) {
    draft = { id, past: [], ...Store.read("draft", id), ...fresh };
    known = undefined;
    $("sheet-start").hidden = true;
    $("sheet-work").hidden = false;
    await enter("");
    if (draft.ring) ring();
  }

  async function begin(form) {
    const name = slug(form.elements.name.value), from = form.elements.from.value;
    draft = { file: name + ".toml" };
    try {
      const got = JSON.parse(await work(Home.ask("/describe", "?" + new URLSearchParams({ name, from, file: draft.file }), "")));
      await open(Store.fresh(), { file: name + ".toml", text: got.text });
    } catch (error) { page.show(error.message); }
  }

  // done makes the machine one of the person's own, and goes on with it.
  async function done(door) {
    const got = JSON.parse(await work(Home.ask("/bring", "?file=" + encodeURIComponent(draft.file), draft.text)));
    if (!got.machine) return wrong((got.problems || []).join("\n"));
    Store.write("netlist", got.machine, { file: draft.file, text: draft.text, title: got.title || draft.file, at: Date.now() });
    page.go(`?door=${door}&machine=` + encodeURIComponent(got.machine));
  }

  // Ring out: what was heard is kept with the draft.
  async function ring() {
    const said = draft.ring;
    $("ring").open = true;
    $("ring-begin").hidden = true;
    $("ring-on").hidden = false;
    try {
      const got = JSON.parse(await work(Home.ask("/ringout", "?", JSON.stringify(said))));
      said.next = got.next;
      $("ring-pair").textContent = got.next ? `${called(got.next.a)}  and  ${called(got.next.b)}${said.positions.length > 1 ? ", switches in " + got.next.position : ""}` : "Nothing is left to touch.";
      for (const id of ["ring-beeps", "ring-silent"]) $(id).disabled = !got.next;
      $("ring-found").replaceChildren(paragraph(`${got.checks} of at most ${got.all_pairs} checks.`, "help"),
        ...got.joined.map((g) => paragraph(g.map(called).join(" – "), "said")), ...got.switched.map((s) => paragraph(`${called(s.a)} – ${called(s.b)} in ${s.in.join(", ")}`, "said")));
      said.joined = got.joined;
      keep();
    } catch (error) {
      said.heard.pop();
      page.show(error.message);
      wrong(error.message);
    }
  }

  function heard(beeps) {
    draft.ring.heard.push({ in: draft.ring.next.position, a: draft.ring.next.a, b: draft.ring.next.b, beeps });
    return ring();
  }

  // wires writes down what was found joined, a wire from the first of a group to
  // each of the others; ends of one part are joined within it.
  async function wires() {
    const owner = (pin) => pin.split(".")[0];
    for (const group of draft.ring.joined || []) {
      for (const pin of group.slice(1)) {
        if (owner(pin) !== owner(group[0]) && !draft.text.includes(`"${group[0]}", to = "${pin}"`) && !await enter(`${group[0]} ${pin}`)) return;
      }
    }
  }

  // show the screen, where the page has it.
  function start() {
    const root = $("describe");
    if (!root) return void (draft = undefined);
    if (root.dataset.ready) return;
    root.dataset.ready = "1";
    const from = root.dataset.from, select = $("sheet-begin").elements.from;
    if (from && [...select.options].some((o) => o.value === from)) select.value = from;
    drafts();
  }

  function drafts() {
    const list = Store.list("draft"), item = (d) => {
      const li = document.createElement("li"), go = document.createElement("button"), gone = document.createElement("button");
      Object.assign(go, { type: "button", textContent: d.title || d.file, onclick: () => open(d.id) });
      Object.assign(gone, { type: "button", textContent: "Forget", ariaLabel: "Forget " + (d.title || d.file), onclick: () => { Store.forget("draft", d.id); drafts(); } });
      li.append(go, " ", gone);
      return li;
    };
    const file = Object.assign(document.createElement("input"), { type: "file", accept: ".toml" });
    file.onchange = async () => open(Store.fresh(), { file: file.files[0].name, text: await file.files[0].text() });
    const opener = Object.assign(document.createElement("label"), { className: "opener" });
    opener.append("Open a netlist's file ", file);
    const all = Object.assign(document.createElement("ul"), { className: "machines" });
    all.append(...list.map(item));
    $("sheet-drafts").replaceChildren(...(list.length ? [paragraph("Begun on this device", "help"), all] : []), opener);
  }

  document.addEventListener("submit", (e) => {
    const does = { "sheet-begin": begin, "wire-row": wire, "new-mode": mode, "part-row": part,
      "line-row": (f) => enter(f.elements.line.value, f),
      "ring-begin": (f) => {
        const words = (s) => s.split(/[\s,]+/).filter(Boolean);
        draft.ring = { pins: words(f.elements.pins.value), positions: words(f.elements.positions.value || "rest"), heard: [] };
        return ring();
      } }[e.target.id];
    if (!does) return;
    e.preventDefault();
    e.stopImmediatePropagation();
    does(e.target);
  }, true);

  document.addEventListener("change", (e) => {
    if (e.target.id !== "ring-of") return;
    const pins = $("ring-begin").elements.pins;
    pins.value = [...new Set([...pins.value.split(/[\s,]+/), ...e.target.value.split(" ")].filter(Boolean))].join(" ");
    e.target.value = "";
  });

  document.addEventListener("click", (e) => {
    const b = e.target.closest("#describe button");
    if (!b) return;
    if (b.dataset.line) return void enter(b.dataset.line);
    if (b.dataset.kind) return void choose(b);
    const does = {
      "sheet-undo": () => { draft.text = back(draft.text, draft.past.pop()); keep(); return enter(""); },
      "sheet-save": () => Store.save(draft.file, draft.text),
      "sheet-find": () => done("find"), "sheet-explore": () => done("explore"),
      "sheet-close": () => { draft = undefined; $("sheet-work").hidden = true; $("sheet-start").hidden = false; delete document.body.dataset.stage; drafts(); },
      "sheet-typed": () => { const typed = $("sheet-text").value; draft.past.push(step(draft.text, typed)); draft.text = typed; keep(); return enter(""); },
      "part-leave": () => { $("part-row").hidden = true; pending = undefined; },
      "ring-beeps": () => heard(true), "ring-silent": () => heard(false),
      "ring-undo": () => { draft.ring.heard.pop(); return ring(); },
      "ring-wires": wires,
      "ring-again": () => { delete draft.ring; keep(); $("ring-on").hidden = true; $("ring-begin").hidden = false; },
    }[b.id];
    if (does) does();
  });

  return { start, listen: (to) => { page = to; } };
})();
