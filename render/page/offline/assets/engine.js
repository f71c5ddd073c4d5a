// The engine, as WebAssembly, and how it is spoken to: from a worker's own
// thread by messages, or in the page by calls.
"use strict";

const Engine = {
  // start unpacks and starts the engine; ended is called should it stop.
  async start({ engine, machine }, ended) {
    const unpack = (packed) => new Blob([bytes(packed)]).stream().pipeThrough(new DecompressionStream("gzip"));
    const go = new Go();
    const wasm = new Response(unpack(engine), { headers: { "Content-Type": "application/wasm" } });
    const [{ instance }, parcel] = await Promise.all([WebAssembly.instantiateStreaming(wasm, go.importObject), new Response(unpack(machine)).text()]);
    return new Promise((resolve, reject) => {
      let asked;
      const end = (why) => {
        const error = new Error(why);
        reject(error);
        if (asked) asked(error);
        ended(why);
      };
      globalThis.legtrace = {
        parcel,
        failed: end,
        ready: (ask, drop) => resolve({
          ask: (path, query, brought) => new Promise((resolve, reject) => {
            asked = reject;
            ask(path, query, brought ?? "", (error, html, state, kind) => (error ? reject(Object.assign(new Error(error), { kind })) : resolve({ html, state: "?" + state })));
          }),
          drop,
        }),
      };
      go.run(instance).then(() => end("the engine stopped"), (error) => end("the engine stopped: " + error.message));
    });
  },

  // listen does what a page asks of its worker.
  listen() {
    let engine;
    const ended = (why) => postMessage({ ended: why });
    onmessage = async ({ data }) => {
      if (data.engine) {
        try {
          engine = await Engine.start(data, ended);
          postMessage({ ready: true });
        } catch (error) {
          ended(error.message);
        }
      } else if (data.drop) engine.drop();
      else engine.ask(data.path, data.query, data.brought).then(postMessage, (error) => postMessage({ error: error.message, kind: error.kind }));
    };
  },
};

function bytes(base64) {
  const text = atob(base64), out = new Uint8Array(text.length);
  for (let i = 0; i < out.length; i++) out[i] = text.charCodeAt(i);
  return out;
}

if (typeof document === "undefined") Engine.listen();
