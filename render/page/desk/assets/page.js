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

  // say is for who cannot see it otherwise, show for everybody: nothing else tells it.
  let fading;
  const say = (text) => {
    clearTimeout(fading);
    $("say").classList.remove("seen");
    $("say").textContent = text;
  };
  const show = (text) => {
    say(text);
    $("say").classList.add("seen");
    fading = setTimeout(() => $("say").classList.remove("seen"), 6000);
  };
  Kept.listen({ go: (query) => go(query), show });
  Describe.listen({ go: (query) => go(query), say, show, busy });

  // Pieces asked for by themselves, once their place on the page can be seen, and
  // the state that each shows; a visit's card, which is waited for, first, then what takes
  // longest: the drawing, and what is told of a visit besides.
  const onWall = () => {
    if (!document.body.dataset.wall) return;
    Diagram.toLoad(1.5);
  };
  const later = { visit: weighed, controls: (html) => swap("controls", html), breaks: (html) => swap("breaks", html),
    standing: (html) => swap("standing", html), debrief: debriefed, learn: read,
    drawing: (html) => { Diagram.put(html); onWall(); },
    told: (html) => swap("told", html) };
  let fresh = {};

  async function ask(path, query, mine) {
    const answer = await Kept.ask(path, query);
    return mine === turn ? answer : undefined;
  }

  // go shows the state that an address leads to. How says what becomes of the
  // browser's history; form is where a person may have to say it anew.
  async function go(query, how = "push", form) {
    const mine = ++turn;
    busy(true);
    const named = Kept.named(query);
    Kept.told(named);
    try {
      const got = await ask("/bench", named, mine);
      if (!got) return;
      if (how === "push" && got.state !== here()) history.pushState({ at: depth() + 1 }, "", Home.address(got.state, Home.panel()));
      else if (how !== "pop") history.replaceState({ at: depth() }, "", Home.address(got.state, Home.panel()));
      deepest = how === "push" ? depth() : Math.max(deepest, depth());
      fresh = {};
      const moved = place(got.html);
      Kept.keep(here()); // what is worked out next may take its time
      await fill(mine);
      if (moved && document.activeElement === document.body) [...document.querySelectorAll("#side h2")].some(goTo); // what was gone from is no more
      Kept.keep(here());
    } catch (error) {
      if (error.kind === "refused") Kept.untold(named);
      if (mine === turn) trouble(error, form, () => go(named, how, form));
    } finally {
      if (mine === turn) busy(false);
    }
  }

  // busy says in the panel, where one looks, that an answer is on its way, and how
  // long the last one behind this door took; or in the piece that this alone is.
  let begun = 0, saying;
  const took = {};
  function busy(on) {
    const now = performance.now(), door = document.body.dataset.door, sign = $("working");
    clearTimeout(saying);
    if (!on) {
      if (begun) took[door] = now - begun;
      begun = 0;
      delete document.body.dataset.busy;
      sign.hidden = true;
      return;
    }
    if (on !== true) {
      if (begun) document.body.dataset.busy = on;
      sign.hidden = true;
      return;
    }
    begun = now;
    document.body.dataset.busy = "1";
    const about = Math.round((took[door] || 0) / 1000);
    saying = setTimeout(() => {
      sign.textContent = about > 1 ? `Working it out, about ${about} s…` : "Working it out…";
      sign.hidden = false;
    }, 400);
  }

  // fill asks for the pieces that can be seen and are of another state.
  async function fill(mine) {
    for (const id of Object.keys(later)) {
      const state = here();
      if (fresh[id] === state || !shown(id)) continue;
      if (id === "drawing" || id === "told") busy(id);
      const more = await ask("/" + id, state, mine);
      if (!more) return;
      later[id](more.html);
      fresh[id] = state;
      marks();
    }
  }

  // trouble says what went wrong: beside what was said, if it was that. What nobody
  // answered is asked again.
  function trouble(error, form, anew = () => go(here(), "stay")) {
    const beside = error.kind === "refused" && form && form.querySelector(".error, #tell-error");
    if (beside) {
      beside.textContent = error.message;
      beside.hidden = false;
      const field = form.querySelector("[name=answer], [name=tell], [name=retell]");
      if (field) field.focus();
      say(error.message);
      return;
    }
    const p = document.createElement("p");
    p.className = "alert";
    p.textContent = error.kind ? error.message : "No answer: " + error.message;
    $("notices").replaceChildren(p);
    if (error.kind !== "gone") return;
    const again = document.createElement("button");
    again.textContent = "Try again";
    again.addEventListener("click", anew);
    $("notices").append(again);
  }

  // shown reports whether a piece can be seen.
  function shown(id) {
    if (!$(id)) return false;
    if (id === "drawing") return !!document.body.dataset.stage;
    return !$(id).closest("[hidden]");
  }

  const depth = () => (history.state && history.state.at) || 0;
  let deepest = depth();

  // place puts the pieces of an answer where they belong, and keeps what the
  // person holds: focus, open lists, what is being typed. It tells whether it is another
  // machine, or behind another door.
  function place(html) {
    const next = new DOMParser().parseFromString(html, "text/html");
    const alert = next.querySelector(".screen [role=alert]");
    if (alert && told(next) === told(document)) alert.removeAttribute("role");
    const { door, machine, stage, title, shows } = next.getElementById("fresh").dataset;
    const moved = document.body.dataset.machine !== machine || document.body.dataset.door !== door;
    if (document.body.dataset.machine !== machine) Diagram.put(""); // no more of the one before
    Object.assign(document.body.dataset, { door, machine });
    document.title = title;
    document.querySelector("[data-zoom=load]").textContent = door === "find" ? "Test" : "Load";
    if (stage) document.body.dataset.stage = stage;
    else delete document.body.dataset.stage;
    const back = [];
    for (const section of next.querySelectorAll("body > section, body > nav")) {
      back.push(exchange(section.id, section));
      $(section.id).hidden = section.hidden; // it may have come with another door
    }
    const top = next.getElementById("fresh-top").content;
    for (const id of ["top", "views"]) back.push(exchange(id, top.getElementById(id)));
    for (const id of ["visit", "told", "controls", "breaks", "standing", "learn"]) $(id).hidden = !shows.split(" ").includes(id);
    marks();
    enhance();
    for (const focus of back) focus();
    if (moved) {
      $("side").scrollTop = 0;
      if ("full" in document.body.dataset) full(document.querySelector("[data-zoom=full]"));
    }
    if (door !== "find") announce(); // there what is said comes with the visit
    return moved;
  }

  // weighed puts a visit in its place. A test that is new is seen from its top, where
  // it says whether the supply is off, and of a proof the check that is next.
  function weighed(html) {
    const now = () => [...document.querySelectorAll("#visit .test h4, #suspects-h, #proof-said, #visit > .alert, .asks")].map((e) => e.textContent).join("\n");
    const before = now();
    swap("visit", html);
    if (before === now()) return;
    const power = document.querySelector(".judged") ? "" : "#visit > .cautions, "; // what comes before it is put on
    const check = $("proof-said") && (document.querySelector(power + ".checks .test") || $("proof-said"));
    if (check) check.scrollIntoView({ block: "start" });
    else $("side").scrollTop = 0;
    announce();
  }

  // read puts a lesson in its place: what is shown of it stays in sight beside the meter.
  function read(html) {
    swap("learn", html);
    const now = document.querySelector("#lesson [aria-current]");
    if (!now) return;
    now.scrollIntoView({ block: "nearest" });
    if (!$("meter").dataset.red) say("Shown on the diagram.");
  }

  function swap(id, html) {
    const focus = exchange(id, html);
    enhance();
    focus();
  }

  // exchange reads nothing of where things stand: what the browser lays out for that,
  // and the next piece changes, would be laid out in vain. Nor does it take the keyboard's
  // place there, which is a look too: it gives what does, for when all is placed.
  function exchange(id, html) {
    const old = $(id);
    const next = typeof html === "string" ? new DOMParser().parseFromString(html, "text/html").getElementById(id) : html;
    if (!old || !next) return () => {};
    const focus = old.contains(document.activeElement) ? document.activeElement : null;
    const key = focus && (focus.id ? "#" + CSS.escape(focus.id) : focus.getAttribute("href") ? `[data-key="${keyOf(focus)}"]` : "");
    const open = [...old.querySelectorAll("details[open]")].map((d) => d.id);
    const node = document.importNode(next, true);
    if (node.matches(".panel")) node.hidden = old.hidden;
    old.replaceWith(node);
    for (const a of node.querySelectorAll("a[data-go]")) a.dataset.key = keyOf(a);
    for (const d of open) if (d && $(d)) $(d).open = true;
    return () => {
      if (!focus) return;
      const again = (key && node.querySelector(key)) || (node.id === id && node.matches("a") ? node : node.querySelector("h2, [tabindex]"));
      if (!goTo(again)) goTo(node.querySelector("h2"));
    };
  }

  // goTo puts the keyboard's place at an element, and tells whether it can be there:
  // what is folded away cannot.
  function goTo(e) {
    if (!e) return false;
    if (!e.matches("a, button, select, input, textarea, summary, [tabindex]")) e.tabIndex = -1;
    e.focus({ preventScroll: true });
    return document.activeElement === e;
  }

  const keyOf = (e) => (e.getAttribute("aria-label") || e.textContent).replace(/["\\\s]+/g, " ").trim();

  // announce says what is new: the next test or what was found, or what the meter
  // reads and where, and in a drill the time and the supply. What stands there as
  // an alert is read by itself.
  function announce() {
    const words = (e) => e.innerText.trim().replace(/\s*\n\s*/g, ", ").replace(/\s+/g, " ");
    if (document.body.dataset.door === "find") {
      const stand = $("suspects-h"), card = document.querySelector("#visit > .test h4, .checks .test h4");
      const text = [stand && stand.matches(".found") ? words(stand) : "", $("proof-said") ? words($("proof-said")) : "", card ? "Next test: " + words(card) : ""];
      if (text.some(Boolean)) sayAll(text);
      return;
    }
    const screen = document.querySelector("#meter .screen"), unused = $("lesson") && !$("meter").dataset.red && !$("drill-bar");
    if (!screen || unused || $("meter").hidden || screen.querySelector("[role=alert]")) return;
    const parts = [...screen.querySelectorAll("output, .beeps, .range, .came, .prompt, #over"), $("drill-bar")];
    sayAll(parts.filter(Boolean).map(words));
  }

  const sayAll = (text) => say(text.filter(Boolean).map((s) => s.replace(/\.$/, "")).join(". "));

  // told names the alert in a page's meter: one that stands there from before is
  // no news.
  function told(page) {
    const alert = page.querySelector(".screen .refused, .screen .stopped");
    const bar = page.getElementById("drill-bar");
    return alert ? (bar ? bar.dataset.steps : "") + alert.textContent : "";
  }

  // marks puts on the diagram what is set, or in a search where the test is, and at its
  // end what is to be mended.
  function marks() {
    const m = $("meter").dataset, card = document.querySelector("#visit > .test, .checks .test"), mend = document.querySelector(".mend");
    if (document.body.dataset.door === "find") {
      const { red = "", black = "", clamp = "" } = card ? card.dataset : {};
      const at = card && card.dataset.at ? card.dataset.at.split(" ") : [];
      Diagram.mark({ red: clamp ? "" : red, black: clamp ? "" : black, clamp, pick: "", load: m.load, lit: at });
      if (red || at.length) Diagram.focus([red, black, ...at]);
      else if (mend) Diagram.toPick(mend.dataset.at);
      return;
    }
    Diagram.mark({ red: m.red, black: m.black, clamp: m.function === "amps" ? m.clamp : "", pick: m.pick, load: m.load, lit: m.lit.split(" ").filter(Boolean) });
    if (document.body.dataset.door === "learn" && $("lesson")) Diagram.focus([m.red, m.black, ...m.lit.split(" ")]); // the drawing follows what is read
  }

  // enhance does what the script adds to fresh pieces.
  function enhance() {
    for (const e of document.querySelectorAll("[hidden].history, .zoom[hidden], .hand[hidden], .pad[hidden], .pick-by[hidden], button[hidden]")) e.hidden = false;
    for (const b of document.querySelectorAll("[data-hand]")) b.setAttribute("aria-pressed", String(b.dataset.hand === hand));
    if ($("undo")) $("undo").disabled = depth() === 0;
    if ($("redo")) $("redo").disabled = depth() >= deepest;
    if (matchMedia("(pointer: coarse)").matches) for (const e of document.querySelectorAll(".reading [name=answer]")) e.inputMode = "none"; // its keys are below
    Kept.show();
    Describe.start();
    tabs(); // which looks where it stands, when all else is there
  }

  // tabs shows one panel at a time; which one is the address's fragment.
  function tabs() {
    const links = [...document.querySelectorAll("#tabs a")];
    if (!links.length || $("tabs").hidden) return;
    const wanted = links.find((a) => a.getAttribute("href") === "#" + Home.panel()) || links[0];
    for (const p of document.querySelectorAll(".panel:not(#lobby, #visit)")) p.hidden = "#" + p.id !== wanted.getAttribute("href");
    for (const a of links) {
      if (a === wanted) a.setAttribute("aria-current", "true");
      else a.removeAttribute("aria-current");
    }
    const bar = $("tabs");
    const left = wanted.offsetLeft - bar.offsetLeft;
    if (left < bar.scrollLeft || left + wanted.offsetWidth > bar.scrollLeft + bar.clientWidth) bar.scrollLeft = left - bar.clientWidth / 3;
  }

  // debriefed puts what a drill comes to in its place: it was waited for.
  function debriefed(html) {
    const waited = !document.querySelector("#debrief table");
    swap("debrief", html);
    if (waited) $("debrief").scrollIntoView();
  }

  function tab(name) {
    history.replaceState(history.state, "", Home.address(here(), name));
    tabs();
    toTabs();
    fill(turn).catch((error) => trouble(error));
  }

  // toTabs has the panel that is open seen from its top.
  function toTabs() {
    $("tabs").scrollIntoView();
    const over = document.querySelector("#meter .screen"); // where it stays in sight
    if (over) $("side").scrollTop -= Math.max(0, over.getBoundingClientRect().bottom - $("tabs").getBoundingClientRect().top);
  }

  document.addEventListener("click", (e) => {
    const link = e.target.closest("a");
    if ($("menu") && !e.target.closest("#menu summary")) $("menu").open = false;
    if (waiting(e.target)) return e.preventDefault();
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
    } else if (d.open) {
      $(d.open).open = true;
      $(d.open).scrollIntoView();
      goTo($(d.open).firstElementChild);
    } else if (d.zoom === "in") Diagram.zoom(1.4);
    else if (d.zoom === "out") Diagram.zoom(1 / 1.4);
    else if (d.zoom === "fit") Diagram.fit();
    else if (d.zoom === "load") document.body.dataset.door === "find" ? marks() : Diagram.toLoad();
    else if (d.zoom === "full") full(button);
    else if (d.type) type(button);
    else if (button.id === "undo") history.back();
    else if (button.id === "redo") history.forward();
    else if (button.id === "copy") copy();
    else if (button.id === "theme") theme();
    else if (button.id === "print") onPaper("page");
    else if (button.id === "print-sheet") onPaper("sheet");
    else if (button.id === "print-report") onPaper("report");
    else if (button.id === "copy-file") put(Kept.file(), "The file's text");
    else if (button.id === "keep-file") Store.save("visit.toml", Kept.file());
  });

  // waiting tells whether a key is of a visit whose last answer is still weighed: it
  // would answer in that one's place.
  const waiting = (e) => document.body.dataset.busy === "1" && e.closest("#visit :is(a, button:not([type=button]))");

  document.addEventListener("keydown", (e) => {
    if (e.key !== "Escape" || !$("menu") || !$("menu").open) return;
    $("menu").open = false;
    $("menu").firstElementChild.focus();
  });

  function send(form, submitter) {
    const q = new FormData(form);
    if (submitter && submitter.name) q.append(submitter.name, submitter.value);
    if (form.id === "drill-begin" && !q.get("number")) q.set("number", 1 + Math.floor(Math.random() * 9999)); // in the address from then on
    go("?" + new URLSearchParams([...q].filter(([k, v]) => v !== "" || k === "along")), "push", form); // each reading beside its test
  }

  // type puts a key of the pad into the field of its form that was last gone to.
  let typed = null;
  document.addEventListener("focusin", (e) => { if (e.target.matches("[name=answer], [name=along], [name=upto]")) typed = e.target; });
  function type(button) {
    const key = button.dataset.type, field = typed && typed.form === button.form ? typed : button.form.querySelector("[name=answer]");
    if (key === "⌫") field.value = field.value.slice(0, -1);
    else if (key === "OL") field.value = key;
    else field.value = (/\d|^$|\./.test(field.value) ? field.value : "") + key;
    say(field.value || "empty");
  }

  // full shows the diagram alone and whole, and again what was seen of it with the rest.
  function full(button) {
    const on = document.body.toggleAttribute("data-full");
    button.setAttribute("aria-pressed", String(on));
    Diagram.alone(on);
    if (!on) marks();
  }

  document.addEventListener("submit", (e) => {
    e.preventDefault();
    if (e.target.id === "jump-form") return find(e.target.elements.jump.value);
    if (document.body.dataset.busy !== "1" || !e.target.closest("#visit")) send(e.target, e.submitter);
  });
  document.addEventListener("change", (e) => {
    const form = e.target.closest("#mode-form, #load-form, #meter-form, .position, #complaint-form, #date-form, #look form:not(#jump-form, :has([name=figure]))");
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

  // A part or wire is found by its name, or by the first that begins so, or has it.
  document.addEventListener("change", (e) => { if (e.target.id === "jump") find(e.target.value); });

  function find(words) {
    const name = words.trim().toLowerCase();
    if (!name) return;
    const all = [...document.querySelectorAll("#jump-to option")].map((o) => [o.value.toLowerCase(), o.dataset.pick]);
    const found = all.find(([n, pick]) => n === name || pick.split(":")[1].toLowerCase() === name) || all.find(([n]) => n.startsWith(name)) || all.find(([n]) => n.includes(name));
    $("jump-none").textContent = found ? "" : `Nothing here is called “${words.trim()}”.`;
    if (!found) return;
    look(found[1]);
    Diagram.toPick(found[1]);
  }

  function look(ref) {
    const q = new URLSearchParams(here());
    q.set("pick", ref);
    tab("look");
    go("?" + q).then(toTabs);
  }

  Diagram.on("probe", probe);
  Diagram.on("look", look);
  Diagram.on("cursor", (ref) => {
    const at = document.querySelector(`#red option[value="${CSS.escape(ref)}"]`); // it says its part's name too
    say(at ? at.textContent : ref);
  });
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
    if (!item) return Diagram.light();
    Diagram.light([...item.querySelectorAll("[data-light]")].flatMap((m) => m.dataset.light.split(" ")).filter(Boolean));
  };
  document.addEventListener("mouseover", lit);
  document.addEventListener("focusin", lit);

  // onPaper prints the page, or the report, and behind it the diagram cut for paper;
  // or one sheet of that, once it is chosen.
  async function onPaper(what) {
    if (what !== "sheet") document.documentElement.dataset.print = what;
    busy(true);
    try {
      if (document.body.dataset.stage) {
        const { html } = await Kept.ask("/sheets", here());
        const sheets = document.createElement("dialog");
        sheets.id = "sheets";
        sheets.innerHTML = html;
        for (const sheet of sheets.children) sheet.className = sheet.firstChild.viewBox.baseVal.width < sheet.firstChild.viewBox.baseVal.height ? "upright" : "lying";
        Diagram.away(true);
        document.body.append(sheets);
        if (what === "sheet") return choose(sheets);
      }
    } catch { /* the diagram is printed as it stands on the page */ } finally {
      busy(false);
    }
    print();
  }

  // choose shows the sheets, each a key that prints it.
  function choose(sheets) {
    sheets.setAttribute("aria-label", "Which sheet to print");
    [...sheets.children].forEach((sheet, i, all) => {
      const picture = sheet.firstChild, key = document.createElement("button");
      key.type = "button";
      key.setAttribute("aria-label", `Print sheet ${i + 1} of ${all.length}`);
      key.append(picture);
      key.addEventListener("click", () => {
        document.documentElement.dataset.print = "sheet";
        sheet.replaceChildren(picture);
        sheets.replaceChildren(sheet);
        sheets.close();
        print();
      });
      sheet.append(key);
    });
    const none = document.createElement("button");
    none.type = "button";
    none.textContent = "Print none of these";
    none.addEventListener("click", () => sheets.close());
    sheets.prepend(none);
    sheets.addEventListener("close", () => { if (!document.documentElement.dataset.print) printed(); });
    sheets.showModal();
  }

  function printed() {
    delete document.documentElement.dataset.print;
    if ($("sheets")) $("sheets").remove();
    Diagram.away(false);
    Diagram.whole(false);
  }

  // Printed otherwise, the page has all of the diagram, whatever of it is looked at.
  addEventListener("beforeprint", () => {
    Diagram.whole(true);
    for (const d of document.querySelectorAll("#written, #noted-so-far")) d.open = true;
  });

  // put copies a text, also where the page came over plain HTTP.
  async function put(text, what) {
    try {
      await navigator.clipboard.writeText(text);
    } catch {
      const field = document.createElement("textarea");
      field.value = text;
      document.body.append(field);
      field.select();
      const done = document.execCommand("copy");
      field.remove();
      if (!done) return show("This browser lets nothing be copied: take the address from its bar.");
    }
    show(what + " is copied.");
  }

  const copy = () => put(location.href, "The link to this state");

  function theme() {
    const root = document.documentElement;
    const dark = root.dataset.theme ? root.dataset.theme === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
    root.dataset.theme = dark ? "light" : "dark";
    try { localStorage.setItem("legtrace-theme", root.dataset.theme); } catch { /* private browsing: for this page only */ }
  }

  addEventListener("popstate", () => go(here(), "pop"));
  addEventListener("hashchange", tabs);
  addEventListener("afterprint", printed);

  // The file's changes.
  function follow() {
    Home.follow((now) => {
      if (now === edition) return;
      edition = now;
      $("drawing-style").href = "/drawing.css?" + now;
      show("The file has changed.");
      go(here(), "stay");
    });
  }

  try {
    const kept = localStorage.getItem("legtrace-theme");
    if (kept) document.documentElement.dataset.theme = kept;
  } catch { /* private browsing */ }
  document.documentElement.classList.add("scripted");
  history.replaceState(history.state || { at: 0 }, "");
  // On the wall a pointer's keys, or a keyboard's, go on and back.
  document.addEventListener("keydown", (e) => {
    const go = { PageDown: "wall-next", ArrowRight: "wall-next", PageUp: "wall-back", ArrowLeft: "wall-back" }[e.key];
    if (!document.body.dataset.wall || !go || !$(go) || e.target.closest("input, select, textarea, #drawing")) return;
    e.preventDefault();
    $(go).click();
  });
  for (const a of document.querySelectorAll("a[data-go]")) a.dataset.key = keyOf(a);
  for (const id of Object.keys(later)) if (shown(id)) fresh[id] = here(); // they came with the page
  enhance();
  Diagram.mark({ load: $("meter").dataset.load });
  Diagram.take();
  marks();
  onWall();
  fill(turn).catch((error) => trouble(error));
  Kept.keep(here());
  follow();
})();
