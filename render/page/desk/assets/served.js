// Where the page's answers come from, and how its address is written: here from
// the server that sent the page. Another script of the same shape can stand in.
"use strict";

const Home = {
  // query is the state in the address, as "?mode=broil", panel the panel shown.
  query: () => location.search || "?",
  panel: () => location.hash.slice(1),
  address: (query, panel) => query + (panel ? "#" + panel : ""),

  // ask answers a path: the HTML, and the state that it shows.
  async ask(path, query) {
    const answer = await fetch(path + query, { headers: { Accept: "text/html" } });
    const html = await answer.text();
    if (!answer.ok) throw new Error(html.trim() || answer.statusText);
    return { html, state: "?" + (answer.headers.get("Legtrace-State") || "") };
  },

  // follow calls back whenever the machine's file has changed, with the edition.
  follow(changed) {
    const events = new EventSource("/events");
    events.addEventListener("machine", (e) => changed(String(JSON.parse(e.data).edition)));
    addEventListener("pagehide", () => events.close());
  },
};
