"use strict";
(() => {
  const table = document.querySelector("table.stack");
  if (!table) return;
  const body = table.tBodies[0], rows = [...body.rows];
  const heads = [...table.tHead.rows[0].cells];
  const sort = document.getElementById("sort"), labels = document.querySelector(".filter").dataset;
  const order = (column, down) => {
    const key = (r) => r.cells[column].dataset.value;
    const number = heads[column].dataset.kind === "number";
    rows.sort((a, b) => {
      const x = key(a), y = key(b);
      if (x === "" || y === "") return x === y ? 0 : x === "" ? 1 : -1; // what is not known goes last
      const c = number ? x - y : x.localeCompare(y, undefined, { numeric: true });
      return down ? -c : c;
    });
    body.append(...rows);
    heads.forEach((h, i) => h.setAttribute("aria-sort", i === column ? (down ? "descending" : "ascending") : "none"));
  };
  heads.forEach((h, i) => {
    h.querySelector("button").addEventListener("click", () => order(i, h.getAttribute("aria-sort") === "ascending"));
    for (const down of [false, true]) {
      const o = new Option(h.textContent.trim() + ", " + (down ? labels.falling : labels.rising), i + (down ? "-" : "+"));
      sort.append(o);
    }
  });
  sort.addEventListener("change", () => { if (sort.value) order(parseInt(sort.value, 10), sort.value.endsWith("-")); });
  const words = document.getElementById("words"), verdict = document.getElementById("verdict"), shown = document.getElementById("shown");
  const filter = () => {
    const want = words.value.toLowerCase().split(/\s+/).filter(Boolean);
    let n = 0;
    for (const r of rows) {
      const text = r.textContent.toLowerCase();
      r.hidden = !want.every((w) => text.includes(w)) || (verdict.value !== "" && !r.dataset.verdicts.split(" ").includes(verdict.value));
      if (!r.hidden) n++;
    }
    shown.textContent = labels.shown.replace("##", rows.length).replace("#", n);
  };
  words.addEventListener("input", filter);
  verdict.addEventListener("change", filter);
  document.querySelector(".filter").hidden = false;
  filter();
})();
