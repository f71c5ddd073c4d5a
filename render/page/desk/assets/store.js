// What this browser keeps: visits and netlists, under the page's own address.
// Each is written whole at once, so that nothing is lost when the tab is ended.
"use strict";

const Store = (() => {
  const prefix = { visit: "legtrace-visit-", netlist: "legtrace-netlist-", draft: "legtrace-draft-" };
  const fields = ["customer", "address", "model", "serial", "technician", "parts", "minutes", "photos"];

  function read(kind, id) {
    try { return JSON.parse(localStorage.getItem(prefix[kind] + id)); } catch { return null; }
  }

  // write keeps a thing, and tells whether the browser took it.
  function write(kind, id, thing) {
    try {
      localStorage.setItem(prefix[kind] + id, JSON.stringify(thing));
      return true;
    } catch { return false; } // private browsing, or full
  }

  function forget(kind, id) {
    try { localStorage.removeItem(prefix[kind] + id); } catch { /* nothing is kept */ }
  }

  // list is all of a kind, the newest first.
  function list(kind) {
    try {
      return Object.keys(localStorage).filter((k) => k.startsWith(prefix[kind]))
        .map((k) => ({ id: k.slice(prefix[kind].length), ...read(kind, k.slice(prefix[kind].length)) }))
        .filter((v) => v.state || v.told || v.text).sort((a, b) => (b.at || 0) - (a.at || 0));
    } catch { return []; }
  }

  // fresh names a visit that is new.
  const fresh = () => [...crypto.getRandomValues(new Uint8Array(5))].map((n) => (n % 36).toString(36)).join("");

  // job is what of a visit stays on this device, as a table of its file.
  function job(of) {
    const lines = fields.filter((k) => of && of[k]).map((k) => {
      if (k === "minutes") return `minutes = ${+of[k] || 0}`;
      const text = (s) => JSON.stringify(s.replace(/[\u0000-\u001f\u007f]+/g, " ").trim());
      return k === "photos" ? `photos = [${of[k].split(",").map((s) => s.trim()).filter(Boolean).map(text).join(", ")}]` : `${k} = ${text(of[k])}`;
    });
    return lines.length ? "[job]\n" + lines.join("\n") + "\n" : "";
  }

  // worded is a job as its fields have it: text.
  const worded = (job) => job && Object.fromEntries(Object.entries(job).map(([k, v]) => [k, Array.isArray(v) ? v.join(", ") : String(v)]));

  // filed is a visit's file with its job in it.
  const filed = (text, of) => text.replace(/(# end of visit\s*)$/, (end) => (job(of) ? "\n" + job(of) : "") + end);

  function save(name, text) {
    const a = document.createElement("a");
    a.href = URL.createObjectURL(new Blob([text], { type: "application/toml" }));
    a.download = name;
    a.click();
    setTimeout(() => URL.revokeObjectURL(a.href), 10000);
  }

  return { read, write, forget, list, fresh, filed, worded, save };
})();
