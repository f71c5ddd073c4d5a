// The teacher's table grows while it is looked at.
"use strict";
(() => {
  const table = document.querySelector("#class-table");
  const state = document.querySelector("#class-state");
  setInterval(async () => {
    try {
      const answer = await fetch("/class/table");
      if (!answer.ok) throw new Error(await answer.text());
      const html = await answer.text();
      if (html !== table.dataset.last) table.innerHTML = table.dataset.last = html;
      state.textContent = "";
    } catch {
      state.textContent = "The server does not answer; the table is as it was last.";
    }
  }, 2000);
})();
