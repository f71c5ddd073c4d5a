// Where a saved page's answers come from: the engine that the page carries. It
// has the shape of served.js. The state is in the fragment of the address, as
// "#visit?mode=broil": a page that is a file can change nothing else of it.
"use strict";

const Home = (() => {
  const $ = (id) => document.getElementById(id);
  let engine; // a promise of it
  let unpacked; // a promise of what starts it
  let now; // what is being answered
  let seen, readied; // the state that was shown last, and the one that a visit was made ready for
  let known = Promise.resolve({}); // answers by path and state, worked out when the page was saved
  const waiting = [];

  // parts are the panel and the state in the address. A page that stands in for a
  // server that is gone has the state where that had it.
  function parts() {
    const f = location.hash.slice(1), at = f.indexOf("?");
    if (location.protocol !== "file:" && at < 0 && location.search) return [f, location.search];
    return at < 0 ? [f, "?"] : [f.slice(0, at), f.slice(at)];
  }

  // missing says what this browser lacks.
  function missing() {
    if (typeof WebAssembly !== "object") return "WebAssembly";
    if (typeof DecompressionStream !== "function") return "the means to unpack the engine (DecompressionStream)";
    return "";
  }

  // running starts the engine where there is none.
  function running() {
    if (!engine) {
      const mine = engine = start();
      mine.catch(() => { if (engine === mine) engine = undefined; });
    }
    return engine;
  }

  async function start() {
    const lack = missing();
    if (lack) throw new Error(`this browser lacks ${lack}. The page shows the machine as it was saved, and nothing can be set, broken or measured.`);
    if (document.readyState === "loading") await new Promise((then) => addEventListener("DOMContentLoaded", then, { once: true }));
    const script = $("engine-script").textContent;
    const load = await (unpacked ??= unpack(script).catch((error) => { unpacked = undefined; throw error; }));
    try {
      return await inWorker(script, load);
    } catch (error) {
      if (error.engine) throw error;
      return here(script).start(load, () => { engine = undefined; }); // workers are refused here
    }
  }

  // unpack reads and compiles the engine, in a worker of its own: what is read for that
  // would stay in memory a while, and goes with the worker.
  async function unpack(script) {
    const packed = { engine: $("engine").textContent, machine: $("machine").textContent };
    try {
      const [worker, load] = await hire(script, { packed });
      worker.terminate();
      return load;
    } catch (error) {
      if (error.engine) throw error;
      return here(script).unpack(packed);
    }
  }

  // hire gives a worker something to do, and comes to the worker with its first word.
  function hire(script, task) {
    return new Promise((resolve, reject) => {
      const address = URL.createObjectURL(new Blob([script], { type: "text/javascript" }));
      const worker = new Worker(address);
      const end = (error) => {
        worker.terminate();
        reject(error);
      };
      worker.onerror = (e) => {
        e.preventDefault();
        end(new Error(e.message || "no worker"));
      };
      worker.onmessage = ({ data }) => {
        URL.revokeObjectURL(address);
        if (data.ended === undefined) resolve([worker, data]);
        else end(Object.assign(new Error(data.ended), { engine: true }));
      };
      worker.postMessage(task);
    });
  }

  // inWorker starts the engine beside the page, which stays at hand meanwhile.
  async function inWorker(script, load) {
    const [worker] = await hire(script, load);
    let asked; // the ask that the engine has
    const end = (why) => {
      if (asked) asked.reject(new Error(why));
      worker.terminate();
      engine = undefined; // the next ask starts another
    };
    worker.onerror = (e) => {
      e.preventDefault();
      end(e.message || "no worker");
    };
    worker.onmessage = ({ data }) => {
      if (data.ended !== undefined) end(data.ended);
      else if (data.error) asked.reject(Object.assign(new Error(data.error), { kind: data.kind }));
      else asked.resolve(data);
    };
    return {
      ask: (path, query, brought) => new Promise((resolve, reject) => {
        asked = { resolve, reject };
        worker.postMessage({ path, query, brought });
      }),
      drop: () => worker.postMessage({ drop: true }),
    };
  }

  // here is what a worker has, in the page itself.
  function here(script) {
    if (typeof Engine === "undefined") {
      const e = document.createElement("script");
      e.textContent = script;
      document.head.append(e);
    }
    return Engine;
  }

  const nobody = () => {};

  // knows reads what was worked out when the page was saved.
  async function knows() {
    const packed = new Blob([Uint8Array.from(atob($("known").textContent), (c) => c.charCodeAt(0))]).stream();
    return new Response(packed.pipeThrough(new DecompressionStream("gzip"))).json();
  }

  // knowing is the answer that needs no engine: without a machine no visit begins, and
  // one that begins is called as the address has it.
  function knowing(known, path, query) {
    const first = query.replace(/&?(visit|date)=[^&]*/g, ""), visit = query.match(/&visit=(\w+)&date=([-\d]+)$/);
    if (path + first in known) return { html: known[path + first], state: first };
    const html = visit && known[path + first + "&visit=VISIT-NAMED&date=2000-01-01"];
    return html && { html: html.replaceAll("VISIT-NAMED", visit[1]).replaceAll("2000-01-01", visit[2]), state: query };
  }

  // next hands the newest ask to the engine, which answers one at a time. When there is
  // none, a visit is made ready while the person reads what there is to say.
  async function next() {
    if (now || !waiting.length && seen === readied) return;
    const mine = now = waiting.pop() ?? { path: "/ready", query: readied = seen, resolve: nobody, reject: nobody };
    try {
      const { ask } = await running(), answer = await ask(mine.path, mine.query, mine.brought);
      if (mine.path === "/bench" && mine.resolve !== nobody) seen = answer.state;
      mine.resolve(answer);
    } catch (error) {
      mine.reject(error);
    } finally {
      now = undefined;
      next();
    }
  }

  // give drops all that was asked before: nobody waits for it any more.
  function give() {
    for (const w of waiting.splice(0)) w.reject(new Error("overtaken"));
    if (now && engine) engine.then(({ drop }) => drop(), () => {});
  }

  // notice says something on top, until an answer comes.
  function notice(text, kind) {
    const p = document.createElement("p");
    p.className = kind;
    p.textContent = text;
    $("notices").append(p);
    return p;
  }

  // A link to a place on the page must not take the state out of the address.
  document.addEventListener("click", (e) => {
    const link = e.target.closest("a[href^='#']");
    const place = link && !link.closest("#tabs") && $(link.getAttribute("href").slice(1));
    if (!place) return;
    e.preventDefault();
    if (!place.matches("a, button, select, input, [tabindex]")) place.tabIndex = -1;
    place.focus();
    place.scrollIntoView();
  }, true);

  return {
    panel: () => parts()[0],
    query: () => parts()[1],
    address: (query, panel) => "#" + panel + (query === "?" ? "" : query),

    async ask(path, query, brought) {
      if (path === "/bench") give(); // a state begins with it
      const answer = knowing(await known, path, query);
      if (answer) {
        if (path === "/bench") seen = answer.state;
        next();
        return answer;
      }
      return new Promise((resolve, reject) => {
        waiting.push({ path, query, brought, resolve, reject });
        next();
      });
    },

    // follow has no file to follow. It is called once the page is ready: the
    // engine starts, and a state in the address is shown. The engine makes ready all
    // the same: what is asked of it first would wait for that. What leads to a machine
    // is known without it.
    follow() {
      known = knows().catch(() => ({}));
      const starting = notice("The engine is starting.", "help");
      known.then(running).finally(() => starting.remove()).catch((error) => {
        const text = "No answer: " + error.message;
        if (!$("notices").textContent.includes(text)) notice(text, "alert");
      });
      known.then(running).then(() => {
        if (!now || now.path === "/ready") waiting.unshift({ path: "/bench", query: "?", resolve: nobody, reject: nobody });
        next();
      }, nobody);
      if (parts()[1] !== "?") dispatchEvent(new PopStateEvent("popstate", { state: history.state }));
    },
  };
})();
