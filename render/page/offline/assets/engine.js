// The engine, as WebAssembly, and how it is spoken to: from a worker's own
// thread by messages, or in the page by calls.
"use strict";

const Engine = {
  // unpack compiles the engine, and reads what goes with it, from what the page has.
  async unpack(packed) {
    const plain = (text) => new Response(Engine.bytes(text)).body.pipeThrough(new DecompressionStream("gzip"));
    const wasm = new Response(plain(packed.engine), { headers: { "Content-Type": "application/wasm" } });
    const [engine, parcel] = await Promise.all([WebAssembly.compileStreaming(wasm), new Response(plain(packed.machine)).text()]);
    return { engine, parcel };
  },

  // bytes reads what the page has as text, after its length: seven bits a character,
  // the first bit first. One from 128 on stands for 0, 13, or after "<" for "/" or "!",
  // and carries six, five or four bits more.
  bytes(text) {
    const colon = text.indexOf(":"), out = new Uint8Array(+text.slice(0, colon)), end = text.length;
    let held = 0, bits = 0, at = 0;
    for (let i = colon + 1; i < end; i++) {
      const c = text.charCodeAt(i);
      if (c < 128) {
        held = ((held & 127) << 7) | c;
        if ((bits += 7) >= 8) out[at++] = held >> (bits -= 8);
        continue;
      }
      held &= 127;
      if (c < 192) {
        held = (held << 13) | (c - 128);
        bits += 13;
      } else if (c < 224) {
        held = (held << 12) | (13 << 5) | (c - 192);
        bits += 12;
      } else {
        held = (held << 11) | ((c < 240 ? 47 : 33) << 4) | (c & 15);
        bits += 11;
      }
      while (bits >= 8) out[at++] = held >> (bits -= 8);
    }
    return out;
  },

  // start starts the engine with a parcel; ended is called should it stop.
  async start({ engine, parcel }, ended) {
    const go = new Go();
    const instance = await WebAssembly.instantiate(engine, go.importObject);
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
    onmessageerror = () => { throw new Error("no engine is handed over here"); };
    onmessage = async ({ data }) => {
      if (data.packed || data.engine) {
        try {
          if (data.packed) return postMessage(await Engine.unpack(data.packed));
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

if (typeof document === "undefined") Engine.listen();
