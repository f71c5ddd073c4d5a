// What this browser keeps, as the page shows it: visits to go on with, netlists of
// the person's own, files that are brought and taken along.
"use strict";

const Kept = (() => {
  const $ = (id) => document.getElementById(id);
  let page; // go and show

  // ask asks home, and brings a netlist along that only this browser has.
  async function ask(path, query) {
    try {
      return await Home.ask(path, query);
    } catch (error) {
      if (error.kind !== "wanted") throw error;
      const own = new URLSearchParams(query).get("machine") || "", kept = Store.read("netlist", own);
      if (!kept) throw Object.assign(new Error("This link is to a machine of somebody's own, and this browser does not have its netlist. Open its file first."), { kind: "missing" });
      await Home.ask("/bring", "?file=" + encodeURIComponent(kept.file), kept.text);
      return Home.ask(path, query);
    }
  }

  // said are what an address has of a visit that has begun.
  const said = ["note", "tell", "retell", "answer", "is", "said", "tale", "skip", "reach", "done"];

  // named gives a visit that begins a name, under which it is kept, and its day.
  function named(query) {
    const q = new URLSearchParams(query);
    const begins = q.get("door") === "find" || q.has("tell") || q.has("note");
    if (q.has("close")) q.delete("visit");
    else if (begins && !q.has("visit") && !q.has("drill")) {
      q.set("visit", Store.fresh());
      const now = new Date();
      if (!q.has("date")) q.set("date", new Date(now - 60000 * now.getTimezoneOffset()).toISOString().slice(0, 10));
    } else return query;
    return "?" + q;
  }

  // told keeps what was just said, until it is in a visit's state or refused: the
  // tab may be ended before the answer comes.
  function told(query) {
    const q = new URLSearchParams(query), id = q.get("visit");
    if (id && said.some((k) => q.has(k)))
      Store.write("visit", id, { title: document.querySelector("h1").textContent, at: Date.now(), ...Store.read("visit", id), told: query });
  }

  // untold forgets it again.
  function untold(query) {
    const id = new URLSearchParams(query).get("visit"), kept = id && Store.read("visit", id);
    if (!kept) return;
    if (kept.state) Store.write("visit", id, { ...kept, told: undefined });
    else Store.forget("visit", id);
  }

  // keep keeps the visit that a state is of.
  function keep(query) {
    const q = new URLSearchParams(query), id = q.get("visit");
    if (!id || !q.has("note")) return untold(query);
    const found = $("suspects-h");
    q.set("door", "find");
    const kept = { ...Store.read("visit", id), state: "?" + q, title: document.querySelector("h1").textContent, words: q.get("complaint") || "",
      stand: found && found.matches(".found") ? found.textContent : "", at: Date.now(), told: undefined };
    if (!Store.write("visit", id, kept)) page.show("This browser keeps nothing (private browsing, or it is full): take the visit along as a file.");
  }

  function element(name, attributes, ...inside) {
    const e = document.createElement(name);
    Object.assign(e, attributes);
    e.append(...inside);
    return e;
  }

  const button = (text, does, label) => element("button", { type: "button", onclick: does, ariaLabel: label || text }, text);

  // opener is a field that takes files.
  function opener(text) {
    const field = element("input", { type: "file", multiple: true, accept: ".toml", onchange: () => take(field.files) });
    return element("label", { className: "opener" }, text + " ", field);
  }

  // take brings files: each is a netlist or a visit.
  async function take(files) {
    const said = [];
    let to = "";
    for (const file of files) {
      const text = await file.text();
      try {
        const got = JSON.parse((await Home.ask("/bring", "?file=" + encodeURIComponent(file.name), text)).html);
        if (got.kind === "netlist" && got.machine) {
          Store.write("netlist", got.machine, { file: file.name, text, title: got.title || file.name, at: Date.now() });
          said.push(`${file.name}: netlist of ${got.title || file.name}.`);
          to = "?door=find&machine=" + encodeURIComponent(got.machine);
        } else if (got.state) {
          const id = Store.fresh();
          Store.write("visit", id, { state: `?${got.state}&visit=${id}`, title: got.title || got.machine, words: new URLSearchParams(got.state).get("complaint") || "", job: Store.worded(got.job), at: Date.now() });
          said.push(`${file.name}: a visit.`);
          to = `?${got.state}&visit=${id}`;
        }
        said.push(...(got.problems || []));
      } catch (error) {
        said.push(file.name + ": " + error.message);
      }
    }
    if (files.length === 1 && to && said.length === 1) return page.go(to);
    show(said);
  }

  // show fills the places for what is kept.
  function show(said = [], key = "") {
    const visits = $("kept"), own = $("own");
    if (visits) {
      const list = Store.list("visit");
      visits.hidden = false;
      visits.replaceChildren(element("h3", {}, "Visits on this device"), list.length
        ? element("ul", { className: "machines" }, ...list.map(visitLine)) : element("p", { className: "help" }, "None yet. A visit is kept here at every answer."), ...news(said, key),
        element("p", { className: "keys" }, opener("Open visits or netlists"), ...(list.length > 1 ? [button("Save all as files", () => all(list))] : [])));
    }
    if (own) {
      const list = Store.list("netlist");
      own.hidden = false;
      own.replaceChildren(element("h3", {}, "Your own"), element("ul", { className: "machines" }, ...list.map((n) => element("li", {},
        link("?door=" + (new URLSearchParams(Home.query()).get("door") || "find") + "&machine=" + encodeURIComponent(n.id), n.title, n.file), button("Forget", () => forget("netlist", n), "Forget " + n.title)))),
        ...news(said, key), element("p", { className: "keys" }, opener("Open a netlist's file")));
    }
    fields();
  }

  const news = (said, key) => (said.length ? [element("div", { className: "alert", role: "alert" }, ...said.map((s) => element("p", {}, s)), key)] : []);

  function link(query, title, small) {
    const a = element("a", { href: "/" + query }, element("b", {}, title), " ", element("small", {}, small));
    a.dataset.go = "";
    return a;
  }

  const visitLine = (v) => element("li", {}, link(v.told || v.state, v.title, [v.words, v.stand, new Date(v.at).toLocaleString()].filter(Boolean).join(" · ")),
    button("File", () => all([v]), "Save as a file: " + v.title), button("Forget", () => forget("visit", v), "Forget this visit: " + v.title));

  // forget forgets a thing, and has a key to bring it back while the page is open.
  function forget(kind, { id, ...thing }) {
    Store.forget(kind, id);
    show([`Forgotten: ${[thing.title, thing.words].filter(Boolean).join(", ")}.`], button("Bring it back", () => { Store.write(kind, id, thing); show(); }));
  }

  // all saves visits as files.
  async function all(list) {
    for (const v of list) {
      try {
        const text = new DOMParser().parseFromString((await ask("/told", v.told || v.state)).html, "text/html").getElementById("file-text");
        if (text) Store.save(`visit-${v.id}.toml`, Store.filed(text.value, v.job));
      } catch (error) {
        page.show(v.title + ": " + error.message);
      }
    }
  }

  const current = () => new URLSearchParams(Home.query()).get("visit");
  const file = () => Store.filed($("file-text").value, (Store.read("visit", current()) || {}).job);

  // fields are what of a visit stays on this device: into the form, the report.
  function fields() {
    const table = $("job"), kept = Store.read("visit", current()) || {};
    if (!table) return;
    table.hidden = false;
    for (const f of table.querySelectorAll("[data-job]")) if (f !== document.activeElement) f.value = (kept.job || {})[f.dataset.job] || "";
    const into = document.getElementById("report-job");
    if (into) into.replaceChildren(...[...table.querySelectorAll("[data-job]")].filter((f) => f.value).flatMap((f) => [element("dt", {}, f.dataset.name), element("dd", {}, f.value)]));
  }

  document.addEventListener("input", (e) => {
    if (e.target.dataset.job && current()) {
      const kept = Store.read("visit", current()) || {};
      Store.write("visit", current(), { ...kept, job: { ...kept.job, [e.target.dataset.job]: e.target.value } });
      fields();
    }
    if (e.target.id !== "find-machine") return;
    const words = e.target.value.toLowerCase().split(/\s+/).filter(Boolean);
    for (const li of document.querySelectorAll(".family li")) li.hidden = !words.every((w) => li.textContent.toLowerCase().includes(w));
    for (const f of document.querySelectorAll(".family")) {
      f.hidden = !f.querySelector("li:not([hidden])");
      for (const d of f.querySelectorAll("details")) d.open = words.length > 0;
    }
  });

  return { ask, named, told, untold, keep, show, file, listen: (to) => { page = to; } };
})();
