// Where the page's answers come from, and how its address is written: here from
// the server that sent the page. Another script of the same shape can stand in.
"use strict";

const Home = {
  // query is the state in the address, as "?mode=broil", panel the panel shown.
  query: () => location.search || "?",
  panel: () => location.hash.slice(1),
  address: (query, panel) => query + (panel ? "#" + panel : ""),

  // ask answers a path: the HTML, and the state that it shows. What is brought is
  // sent along. An error's kind is "refused" for what was said and makes no sense,
  // "wanted" where a netlist is to be brought first, "gone" where nobody answers.
  async ask(path, query, brought) {
    const send = brought === undefined ? {} : { method: "POST", body: brought, headers: { "Legtrace-Brings": "1" } };
    let answer, html;
    try {
      answer = await fetch(path + query, { headers: { Accept: "text/html" }, ...send });
      html = await answer.text();
    } catch {
      throw Object.assign(new Error("legtrace does not answer. It was ended, or the network is gone. What you see is as it stood last, and visits are kept in this browser."), { kind: "gone" });
    }
    const kind = answer.headers.get("Legtrace-Trouble") || undefined;
    if (!answer.ok || kind) throw Object.assign(new Error(html.trim() || answer.statusText), { kind });
    return { html, state: "?" + (answer.headers.get("Legtrace-State") || "") };
  },

  // follow calls back whenever the machine's file has changed, with the edition.
  follow(changed) {
    const events = new EventSource("/events");
    events.addEventListener("machine", (e) => changed(String(JSON.parse(e.data).edition)));
    addEventListener("pagehide", () => events.close());
  },
};

if (navigator.serviceWorker && document.querySelector("link[rel=manifest]")) navigator.serviceWorker.register("/worker.js").catch(() => {}); // only a convenience
