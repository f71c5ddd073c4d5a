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

// bytes reads what a page has as text: seven bits a character, the first bit first.
function bytes(text) {
  const out = new Uint8Array((text.length * 7) >> 3);
  let held = 0, bits = 0, at = 0;
  for (let i = 0; i < text.length; i++) {
    held = ((held << 7) | (text.charCodeAt(i) & 127)) & 0x7fff;
    bits += 7;
    if (bits >= 8) out[at++] = held >> (bits -= 8);
  }
  return out;
}

if (typeof document === "undefined") Engine.listen();
