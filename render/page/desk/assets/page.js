// The page's own behaviour: links and forms ask for the pieces of the page that
// change and put them in place; the address follows, so that going back is
// undoing. All that is claimed comes from Home.ask.
"use strict";

(() => {
  const $ = (id) => document.getElementById(id);
  const here = Home.query;
  let turn = 0; // the newest request; older answers are dropped
  let hand = "red";
  let edition = document.body.dataset.edition;

  const say = (text) => { $("say").textContent = text; };

  // Pieces asked for by themselves, and what they stand in for.
  const later = [["/drawing", (html) => Diagram.put(html)], ["/breaks", (html) => swap("breaks", html)],
    ["/standing", (html) => swap("standing", html)], ["/visit", (html) => swap("visit", html)],
    ["/debrief", (html) => swap("debrief", html)], ["/learn", (html) => swap("learn", html)]];

  async function ask(path, query, mine) {
    const answer = await Home.ask(path, query);
    return mine === turn ? answer : undefined;
  }

  // go shows the state that an address leads to. How says what becomes of the
  // browser's history.
  async function go(query, how = "push") {
    const mine = ++turn;
    document.body.dataset.busy = "1";
    try {
      const got = await ask("/bench", query, mine);
      if (!got) return;
      if (how === "push" && got.state !== here()) history.pushState({ at: depth() + 1 }, "", Home.address(got.state, Home.panel()));
      else if (how !== "pop") history.replaceState({ at: depth() }, "", Home.address(got.state, Home.panel()));
      deepest = how === "push" ? depth() : Math.max(deepest, depth());
      place(got.html);
      for (const [path, put] of later) {
        if (!$(path.slice(1)) || !shown(path.slice(1))) continue;
        const more = await ask(path, got.state, mine);
        if (!more) return;
        put(more.html);
        marks();
      }
    } catch (error) {
      if (mine === turn) {
        $("notices").innerHTML = "";
        const p = document.createElement("p");
        p.className = "alert";
        p.textContent = "No answer: " + error.message;
        $("notices").append(p);
      }
    } finally {
      if (mine === turn) delete document.body.dataset.busy;
    }
  }

  // shown reports whether a piece has a place on the page as it stands: while a
  // drill is open some panels have none.
  const shown = (id) => id === "drawing" || id === "debrief" || !!document.querySelector(`#tabs a[href="#${id}"]`);

  const depth = () => (history.state && history.state.at) || 0;
  let deepest = depth();

  // place puts the pieces of an answer where they belong, and keeps what the
  // person holds: focus, open lists, what is being typed.
  function place(html) {
    const fresh = new DOMParser().parseFromString(html, "text/html");
    const alert = fresh.querySelector(".screen [role=alert]");
    if (alert && told(fresh) === told(document)) alert.removeAttribute("role");
    for (const section of fresh.querySelectorAll("body > section, body > nav")) swap(section.id, section);
    const top = fresh.getElementById("fresh-top");
    if (top) for (const id of ["mode-form", "load-form", "supply", "notices"]) swap(id, top.content.getElementById(id));
    const tools = fresh.getElementById("fresh-tools");
    if (tools) for (const a of [...tools.content.querySelectorAll("a")]) swap(a.id, a);
    enhance();
    marks();
    announce();
  }

  function swap(id, html) {
    const old = $(id);
    const next = typeof html === "string" ? new DOMParser().parseFromString(html, "text/html").getElementById(id) : html;
    if (!old || !next) return;
    const focus = old.contains(document.activeElement) ? document.activeElement : null;
    const key = focus && (focus.id ? "#" + CSS.escape(focus.id) : focus.getAttribute("href") ? `[data-key="${keyOf(focus)}"]` : "");
    const open = [...old.querySelectorAll("details[open]")].map((d) => d.id);
    const scroll = old.scrollTop;
    const node = document.importNode(next, true);
    if (node.matches(".panel")) node.hidden = old.hidden;
    old.replaceWith(node);
    for (const a of node.querySelectorAll("a[data-go]")) a.dataset.key = keyOf(a);
    for (const d of open) if (d && $(d)) $(d).open = true;
    node.scrollTop = scroll;
    if (focus) {
      const again = (key && node.querySelector(key)) || (node.id === id && node.matches("a") ? node : node.querySelector("h2, [tabindex]"));
      if (again) {
        if (!again.matches("a, button, select, input, [tabindex]")) again.tabIndex = -1;
        again.focus({ preventScroll: true });
      }
    }
    enhance();
  }

  const keyOf = (e) => (e.getAttribute("aria-label") || e.textContent).replace(/["\\\s]+/g, " ").trim();

  // announce reads the meter out, and in a drill the time and the supply. What
  // stands there as an alert is read by itself.
  function announce() {
    const screen = document.querySelector("#meter .screen");
    if (!screen || screen.querySelector("[role=alert]")) return;
    const parts = [...screen.querySelectorAll("output, .beeps, .range, .came, .prompt, #over"), $("drill-bar")];
    say(parts.filter(Boolean).map((e) => e.innerText.replace(/\s+/g, " ").trim()).join(". "));
  }

  // told names the alert in a page's meter: one that stands there from before is
  // no news.
  function told(page) {
    const alert = page.querySelector(".screen .refused, .screen .stopped");
    const bar = page.getElementById("drill-bar");
    return alert ? (bar ? bar.dataset.steps : "") + alert.textContent : "";
  }

  function marks() {
    const m = $("meter").dataset;
    Diagram.mark({ red: m.red, black: m.black, clamp: m.function === "amps" ? m.clamp : "", pick: m.pick, load: m.load });
  }

  // enhance does what the script adds to fresh pieces.
  function enhance() {
    for (const e of document.querySelectorAll("[hidden].history, .zoom[hidden], .hand[hidden], button[hidden]")) e.hidden = false;
    for (const b of document.querySelectorAll("[data-hand]")) b.setAttribute("aria-pressed", String(b.dataset.hand === hand));
    if ($("undo")) $("undo").disabled = depth() === 0;
    if ($("redo")) $("redo").disabled = depth() >= deepest;
    tabs();
  }

  // tabs shows one panel at a time; which one is the address's fragment.
  function tabs() {
    const links = [...document.querySelectorAll("#tabs a")];
    const wanted = links.find((a) => a.getAttribute("href") === "#" + Home.panel()) || links[0];
    for (const p of document.querySelectorAll(".panel")) p.hidden = "#" + p.id !== wanted.getAttribute("href");
    for (const a of links) {
      if (a === wanted) a.setAttribute("aria-current", "true");
      else a.removeAttribute("aria-current");
    }
    const bar = $("tabs");
    const left = wanted.offsetLeft - bar.offsetLeft;
    if (left < bar.scrollLeft || left + wanted.offsetWidth > bar.scrollLeft + bar.clientWidth) bar.scrollLeft = left - bar.clientWidth / 3;
  }

  function tab(name) {
    history.replaceState(history.state, "", Home.address(here(), name));
    tabs();
  }

  document.addEventListener("click", (e) => {
    const link = e.target.closest("a");
    if (link && link.closest("#tabs")) {
      e.preventDefault();
      tab(link.getAttribute("href").slice(1));
      return;
    }
    if (link && "go" in link.dataset && !e.ctrlKey && !e.metaKey && !e.shiftKey) {
      e.preventDefault();
      go(new URL(link.href).search || "?");
      return;
    }
    const button = e.target.closest("button");
    if (!button) return;
    const d = button.dataset;
    if (d.hand) {
      hand = d.hand;
      enhance();
    } else if (d.zoom === "in") Diagram.zoom(1.4);
    else if (d.zoom === "out") Diagram.zoom(1 / 1.4);
    else if (d.zoom === "fit") Diagram.fit();
    else if (d.zoom === "load") Diagram.toLoad();
    else if (button.id === "undo") history.back();
    else if (button.id === "redo") history.forward();
    else if (button.id === "copy") copy();
    else if (button.id === "theme") theme();
    else if (button.id === "print-report") printReport();
    else if (button.id === "copy-file") copyFile();
    else if (button.id === "keep-file") keepFile();
  });

  function send(form, submitter) {
    const q = new FormData(form);
    if (submitter && submitter.name) q.append(submitter.name, submitter.value);
    if (form.id === "drill-begin" && !q.get("number")) q.set("number", 1 + Math.floor(Math.random() * 9999)); // in the address from then on
    go("?" + new URLSearchParams([...q].filter(([, v]) => v !== "")));
  }

  document.addEventListener("submit", (e) => {
    e.preventDefault();
    send(e.target, e.submitter);
  });
  document.addEventListener("change", (e) => {
    const form = e.target.closest("#mode-form, #load-form, #meter-form, .position, #complaint-form, #date-form, #look form:not(:has([name=figure]))");
    if (form) send(form);
  });

  // What a probe's place is changed to, by tap, drag or key.
  function probe(which, ref) {
    const q = new URLSearchParams(here());
    q.set(which, ref);
    if (q.get("meter") === "amps") q.delete("meter");
    if (which === "red" && hand === "red" && !q.get("black")) hand = "black";
    go("?" + q);
  }

  function look(ref) {
    const q = new URLSearchParams(here());
    q.set("pick", ref);
    tab("look");
    go("?" + q);
  }

  Diagram.on("probe", probe);
  Diagram.on("look", look);
  Diagram.on("cursor", (ref) => say(ref));
  Diagram.on("tap", ({ terminal, part, wire, under }) => {
    if ($("meter").dataset.function === "amps" && (wire || under) && hand !== "look") {
      const q = new URLSearchParams(here());
      q.set("clamp", (wire || under).name);
      go("?" + q);
    } else if (terminal && hand !== "look") probe(hand, terminal.ref);
    else if (part) look("part:" + part.name);
    else if (terminal) {
      const g = terminal.e.closest("g.part");
      if (g) look("part:" + g.dataset.part);
    } else if (wire) look("wire:" + wire.name);
  });

  // What is pointed at or stepped to lights up.
  const lit = (e) => {
    const item = e.target.closest && e.target.closest(".cuts li, .suspects li");
    const names = item ? [...item.querySelectorAll("[data-light]")].flatMap((m) => m.dataset.light.split(" ")).filter(Boolean) : [];
    Diagram.light(names);
  };
  document.addEventListener("mouseover", lit);
  document.addEventListener("focusin", lit);

  function printReport() {
    document.documentElement.dataset.print = "report";
    print();
  }

  async function copyFile() {
    try {
      await navigator.clipboard.writeText($("file-text").value);
      say("The file's text is copied.");
    } catch {
      $("file-text").select();
      say("The file's text is selected: copy it.");
    }
  }

  function keepFile() {
    const a = document.createElement("a");
    a.href = URL.createObjectURL(new Blob([$("file-text").value], { type: "application/toml" }));
    a.download = "visit.toml";
    a.click();
    setTimeout(() => URL.revokeObjectURL(a.href), 10000);
  }

  async function copy() {
    try {
      await navigator.clipboard.writeText(location.href);
      say("The link to this state is copied.");
    } catch {
      say("Copy the address from the browser's bar: it holds this state.");
    }
  }

  function theme() {
    const root = document.documentElement;
    const dark = root.dataset.theme ? root.dataset.theme === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
    root.dataset.theme = dark ? "light" : "dark";
    try { localStorage.setItem("legtrace-theme", root.dataset.theme); } catch { /* private browsing: for this page only */ }
  }

  addEventListener("popstate", () => go(here(), "pop"));
  addEventListener("hashchange", tabs);
  addEventListener("afterprint", () => { delete document.documentElement.dataset.print; });

  // The file's changes.
  function follow() {
    Home.follow((now) => {
      if (now === edition) return;
      edition = now;
      $("drawing-style").href = "/drawing.css?" + now;
      say("The file has changed.");
      go(here(), "stay");
    });
  }

  try {
    const kept = localStorage.getItem("legtrace-theme");
    if (kept) document.documentElement.dataset.theme = kept;
  } catch { /* private browsing */ }
  document.documentElement.classList.add("scripted");
  history.replaceState(history.state || { at: 0 }, "");
  for (const a of document.querySelectorAll("a[data-go]")) a.dataset.key = keyOf(a);
  enhance();
  Diagram.mark({ load: $("meter").dataset.load });
  Diagram.take();
  marks();
  follow();
})();
