// Looking at a photo: pinch, drag and wheel; tap a piece to say what it is.
const figure = document.getElementById("viewer");
if (figure) start(figure);

function start(figure) {
  const t = self.grist.t;
  const stage = figure.querySelector(".stage"), img = stage.querySelector("img");
  const turn = document.createElement("div");
  turn.className = "turn";
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  svg.setAttribute("aria-hidden", "true");
  turn.append(img, svg);
  stage.append(turn);
  stage.tabIndex = 0;
  stage.setAttribute("role", "group");
  stage.setAttribute("aria-label", img.alt);
  const v = { w: 0, h: 0, s: 1, x: 0, y: 0, pieces: [] };

  const floor = () => Math.min(stage.clientWidth / v.w, stage.clientHeight / v.h);
  const place = () => {
    v.s = Math.min(Math.max(v.s, floor()), Math.max(6, floor() * 2));
    const hold = (at, size, room) => size <= room ? (room - size) / 2 : Math.min(0, Math.max(room - size, at));
    v.x = hold(v.x, v.w * v.s, stage.clientWidth);
    v.y = hold(v.y, v.h * v.s, stage.clientHeight);
    turn.style.transform = `translate(${v.x}px, ${v.y}px) scale(${v.s})`;
  };
  const zoom = (by, cx, cy) => {
    const s = Math.min(Math.max(v.s * by, floor()), Math.max(6, floor() * 2));
    v.x = cx - (cx - v.x) * s / v.s;
    v.y = cy - (cy - v.y) * s / v.s;
    v.s = s;
    place();
  };
  const fit = () => { v.s = 0; place(); };
  const size = (w, h) => {
    v.w = w; v.h = h;
    for (const e of [turn, img, svg]) { e.style.width = w + "px"; e.style.height = h + "px"; }
    svg.setAttribute("viewBox", `0 0 ${w} ${h}`);
    fit();
  };

  // ---- fingers
  const down = new Map();
  let moved = 0, since = 0, many = false;
  const at = (e) => { const r = stage.getBoundingClientRect(); return [e.clientX - r.left - stage.clientLeft, e.clientY - r.top - stage.clientTop]; };
  stage.addEventListener("pointerdown", (e) => {
    stage.setPointerCapture(e.pointerId);
    down.set(e.pointerId, at(e));
    if (down.size === 1) { moved = 0; since = e.timeStamp; many = false; } else many = true;
  });
  stage.addEventListener("pointermove", (e) => {
    if (!down.has(e.pointerId)) return;
    const before = [...down.values()].map((p) => [...p]);
    const now = at(e), old = down.get(e.pointerId);
    moved += Math.hypot(now[0] - old[0], now[1] - old[1]);
    down.set(e.pointerId, now);
    const after = [...down.values()];
    if (after.length === 1) { v.x += now[0] - old[0]; v.y += now[1] - old[1]; place(); return; }
    const mid = (p) => [(p[0][0] + p[1][0]) / 2, (p[0][1] + p[1][1]) / 2];
    const gap = (p) => Math.max(1, Math.hypot(p[0][0] - p[1][0], p[0][1] - p[1][1]));
    const [mx, my] = mid(after), [ox, oy] = mid(before);
    v.x += mx - ox; v.y += my - oy;
    zoom(gap(after) / gap(before), mx, my);
  });
  const up = (e) => { down.delete(e.pointerId); };
  stage.addEventListener("pointerup", up);
  stage.addEventListener("pointercancel", up);
  // A tap is taken from the click, which comes last: a dialog opened any earlier would catch the click of the same finger.
  stage.addEventListener("click", (e) => { if (!many && moved < 12 && e.timeStamp - since < 900) tap(...at(e)); });
  stage.addEventListener("wheel", (e) => { e.preventDefault(); zoom(Math.exp(-e.deltaY / 400), ...at(e)); }, { passive: false });
  stage.addEventListener("keydown", (e) => {
    const step = { ArrowLeft: [60, 0], ArrowRight: [-60, 0], ArrowUp: [0, 60], ArrowDown: [0, -60] }[e.key];
    const by = { "+": 1.4, "=": 1.4, "-": 1 / 1.4 }[e.key];
    if (step) { v.x += step[0]; v.y += step[1]; place(); } else if (by) zoom(by, stage.clientWidth / 2, stage.clientHeight / 2); else return;
    e.preventDefault();
  });
  for (const b of figure.querySelectorAll("[data-zoom]")) {
    b.addEventListener("click", () => b.dataset.zoom === "fit" ? fit() : zoom(b.dataset.zoom === "in" ? 1.6 : 1 / 1.6, stage.clientWidth / 2, stage.clientHeight / 2));
  }
  addEventListener("resize", place);

  // ---- pieces
  const outline = (p) => p.o && p.o.length > 2 ? "M" + p.o.map((q) => q.join(" ")).join("L") + "Z" : `M${p.at[0] - 9} ${p.at[1]}a9 9 0 1 0 18 0a9 9 0 1 0 -18 0Z`;
  const draw = () => {
    svg.replaceChildren(...v.pieces.map((p) => {
      const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
      path.setAttribute("d", outline(p));
      path.setAttribute("class", "piece " + p.c + (p.by ? " by-hand" : "") + (p.on ? " on" : ""));
      return path;
    }));
  };
  const inside = (p, x, y) => {
    let hit = false;
    for (let i = 0, j = (p.o || []).length - 1; i < (p.o || []).length; j = i++) {
      const [ax, ay] = p.o[i], [bx, by] = p.o[j];
      if (ay > y !== by > y && x < (bx - ax) * (y - ay) / (by - ay) + ax) hit = !hit;
    }
    return hit;
  };
  const names = { whole_kernel: "whole kernel", broken_kernel: "broken kernel", stover: "stalk, leaf, husk, cob", unsure: "unsure", none: "nothing of the crop" };
  let near = [];
  const tap = (sx, sy) => {
    if (figure.dataset.may !== "true" || !v.pieces.length) return;
    const x = (sx - v.x) / v.s, y = (sy - v.y) / v.s;
    near = v.pieces.map((p) => ({ p, d: inside(p, x, y) ? 0 : Math.hypot(p.at[0] - x, p.at[1] - y) * v.s })).sort((a, b) => a.d - b.d).filter((e) => e.d < 48).map((e) => e.p);
    if (near.length) ask(0); else note(t("No piece there. Tap closer to one."));
  };
  const note = (text) => { const n = document.getElementById("net"); n.textContent = text; n.hidden = false; setTimeout(() => { if (n.textContent === text) n.hidden = true; }, 4000); };

  // ---- the dialog
  const dialog = document.getElementById("piece-dialog");
  let index = 0;
  const ask = (i) => {
    index = i;
    const p = near[i];
    for (const q of v.pieces) q.on = q === p;
    draw();
    dialog.querySelector("form").action = `/photos/${figure.dataset.photo}/pieces/${p.id}`;
    document.getElementById("piece-now").textContent = (p.by ? t("named by hand: %s", t(names[p.c] || p.c)) : t("named %s, %d %% sure", t(names[p.c] || p.c), p.p)) + " · " + p.mm.join(" × ") + " mm";
    for (const b of dialog.querySelectorAll("[name=class]")) b.setAttribute("aria-pressed", String(b.value === p.c));
    dialog.querySelector(".undo").disabled = !p.by;
    dialog.querySelector("[data-next]").hidden = near.length < 2;
    look(p);
    if (!dialog.open) dialog.showModal();
  };
  const look = (p) => {
    const canvas = document.getElementById("piece-look"), c = canvas.getContext("2d");
    canvas.width = 720; canvas.height = 340;
    const k = img.naturalWidth / v.w;
    const reach = 1.5 * Math.max(30, ...(p.o || []).map((q) => Math.hypot(q[0] - p.at[0], q[1] - p.at[1])));
    const z = canvas.height / (2 * reach);
    c.drawImage(img, (p.at[0] - reach * 720 / 340) * k, (p.at[1] - reach) * k, 2 * reach * 720 / 340 * k, 2 * reach * k, 0, 0, 720, 340);
    c.setTransform(z, 0, 0, z, 360 - p.at[0] * z, 170 - p.at[1] * z);
    c.lineWidth = 5 / z; c.strokeStyle = "#fff"; c.stroke(new Path2D(outline(p)));
    c.setTransform(1, 0, 0, 1, 0, 0);
  };
  if (dialog) {
    dialog.querySelector("[data-next]").addEventListener("click", () => ask((index + 1) % near.length));
    dialog.querySelector("[data-close]").addEventListener("click", () => dialog.close());
    dialog.addEventListener("close", () => { for (const q of v.pieces) q.on = false; draw(); });
    dialog.querySelector("form").addEventListener("submit", async (e) => {
      e.preventDefault();
      await keep(near[index], e.submitter ? e.submitter.value : "");
    });
  }
  const keep = async (p, value) => {
    try {
      const r = await fetch(`/photos/${figure.dataset.photo}/pieces/${p.id}`, { method: "POST", headers: { "X-Part": "1", Accept: "text/html" }, body: new URLSearchParams({ class: value }) });
      if (!r.ok) throw new Error(String(r.status));
      document.getElementById("sums").innerHTML = await r.text();
      await fetchPieces();
      const row = document.querySelector(`#piece-${p.id} td`);
      const now = v.pieces.find((q) => q.id === p.id);
      if (row && now) row.textContent = t(names[now.c] || now.c) + (now.by ? ` (${now.by})` : "");
      dialog.close();
      note(t("Kept: %s.", t(names[now.c] || now.c)));
    } catch { dialog.close(); note(t("The correction could not be sent; try again when there is a network.")); }
  };
  document.addEventListener("click", (e) => {
    const a = e.target.closest("[data-piece]");
    if (!a || !v.pieces.length) return;
    const p = v.pieces.find((q) => q.id === Number(a.dataset.piece));
    if (!p) return;
    e.preventDefault();
    near = [p];
    ask(0);
  });

  const fetchPieces = async () => {
    const r = await fetch(figure.dataset.pieces, { headers: { Accept: "application/json" } });
    if (!r.ok) return;
    const d = await r.json();
    v.pieces = d.pieces;
    if (d.w && d.w !== v.w) size(d.w, d.h);
    draw();
  };
  const begin = async () => {
    size(img.naturalWidth || 4, img.naturalHeight || 3);
    if (figure.dataset.pieces) await fetchPieces().catch(() => {});
    figure.dataset.ready = "1";
  };
  if (img.complete && img.naturalWidth) begin();
  else {
    img.addEventListener("load", begin);
    img.addEventListener("error", () => note(t("This photo cannot be shown here.")));
  }
}
