// A machine written down line by line. The netlist is kept in this browser after
// every line; what becomes of a line is worked out at home.
"use strict";

const Describe = (() => {
  const $ = (id) => document.getElementById(id);
  let page, draft, names = []; // draft is the netlist: its file's name, text and machine
  const past = []; // texts before each line

  const shown = () => $("line") && document.body.dataset.door === "describe";
  const none = () => ({ file: "mine.toml", text: "", machine: "" });

  // open shows the draft that is kept, or one that begins with the machine shown.
  function open() {
    if (!shown() || draft) return;
    const at = document.body.dataset.machine, own = at && Store.read("netlist", at);
    draft = Store.read("draft", "now") || none();
    if (at && at !== draft.machine) {
      past.length = 0;
      draft = own ? { file: own.file, text: own.text, machine: at } : { file: "mine.toml", text: `from = ${JSON.stringify(at)}\nname = "mine"\n`, machine: "" };
    }
    enter("");
  }

  async function enter(line, text = draft.text) {
    const got = JSON.parse((await Home.ask("/describe", "?", JSON.stringify({ file: draft.file, text, line }))).html);
    names = got.names || [];
    say(got);
    if (got.error || got.ask) return false;
    if (got.text !== draft.text) past.push(draft.text);
    const was = draft.machine;
    draft = { file: draft.file, text: got.text, machine: got.machine || was };
    Store.write("draft", "now", draft);
    list(got);
    if (!got.machine) return true;
    if (was && was !== got.machine) Store.forget("netlist", was);
    Store.write("netlist", got.machine, { file: draft.file, text: got.text, title: got.title || "Being described", at: Date.now() });
    if (document.body.dataset.machine !== got.machine) page.go("?door=describe&machine=" + encodeURIComponent(got.machine));
    return true;
  }

  function say({ said = [], ask, error }) {
    const texts = error ? [error] : ask ? [`${ask} is new: say its kind, as in ${ask}: element 2600 W 240 V`] : said;
    $("line-said").replaceChildren(...texts.map((t) => Object.assign(document.createElement("p"), { textContent: t, className: error || ask ? "alert" : "help" })));
    if (ask) $("line").value = ask + ": ";
  }

  function list({ lines = [], problems = [], text }) {
    const item = (t) => Object.assign(document.createElement("li"), { textContent: t });
    $("line-list").replaceChildren(...lines.map(item));
    $("line-problems").replaceChildren(...problems.map((t) => Object.assign(document.createElement("p"), { textContent: t, className: "alert" })));
    $("line-text").value = text;
  }

  // words offers what the last word of the line may become.
  function words() {
    const [, before, last] = $("line").value.match(/^(.*?)(\S*)$/s);
    const fits = last ? names.filter((n) => n.startsWith(last) && n !== last).slice(0, 8) : [];
    $("line-words").replaceChildren(...fits.map((n) => Object.assign(document.createElement("button"), { type: "button", textContent: n, onclick: () => {
      $("line").value = before + n + " ";
      $("line").focus();
      words();
    } })));
  }

  document.addEventListener("input", (e) => { if (e.target.id === "line") words(); });
  document.addEventListener("submit", async (e) => {
    if (e.target.id !== "describe-form") return;
    e.preventDefault();
    const line = $("line").value;
    try {
      if (await enter(line)) $("line").value = "";
      else if (!$("line").value.endsWith(": ")) $("line").focus();
    } catch (error) {
      say({ error: error.message });
    }
    words();
  });
  document.addEventListener("click", (e) => {
    const id = e.target.id;
    if (id === "line-save") Store.save(draft.file, draft.text);
    else if (id === "line-take") enter("", $("line-text").value).catch((error) => say({ error: error.message }));
    else if (id === "line-undo" && past.length) {
      const text = past.pop();
      enter("", text).then(() => past.pop());
    } else if (id === "line-new") {
      past.push(draft.text);
      draft = none();
      enter("");
    }
  });

  // left is called where another screen is shown: the draft is looked up anew.
  return { open, left: () => { if (!shown()) draft = undefined; }, listen: (to) => { page = to; } };
})();
