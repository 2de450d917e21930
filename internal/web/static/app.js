// What every page does: says whether there is a network, keeps and sends photos, and follows the measuring of a load.
const words = JSON.parse(document.getElementById("page-words").textContent);
const t = (text, ...args) => {
  let i = 0;
  return (words[text] || text).replace(/%(?:\[(\d+)\])?([sd%])/g, (_, at, verb) => verb === "%" ? "%" : String(args[at ? at - 1 : i++]));
};
self.grist = { t };
document.documentElement.classList.add("js");

const queue = self.gristQueue;
const $ = (selector, from = document) => from.querySelector(selector);
const el = (name, props = {}, ...children) => {
  const e = Object.assign(document.createElement(name), props);
  e.append(...children);
  return e;
};
const secure = self.isSecureContext && "serviceWorker" in navigator;

// ---- the network, and what waits for it

let unreachable = false;

const say = (text) => {
  const note = $("#net");
  if (note.textContent !== (text || "")) note.textContent = text || "";
  note.hidden = !text;
};

const showNet = () => {
  if (navigator.onLine && !unreachable) return say("");
  say(t(secure ? "No network. Photos taken now wait on this phone and go up by themselves."
    : "No network. Photos wait in this page: keep it open until they are sent."));
};

const showWaiting = async () => {
  let n = 0;
  try { n = await queue.waiting(); } catch { return; }
  const badge = $("#waiting-badge");
  badge.hidden = n === 0;
  badge.textContent = t("%d waiting", n);
  await showList();
  return n;
};

const showList = async () => {
  const box = $("#waiting-list");
  if (!box) return;
  const groups = await queue.list();
  box.replaceChildren();
  if (!groups.length) return box.append(el("p", { className: "empty", textContent: t("Nothing waits.") }));
  for (const g of groups) {
    const list = el("ul", { className: "members" });
    for (const p of g.photos) {
      const row = el("li", {}, el("span", {}, el("b", { textContent: p.name }), el("small", { textContent: p.problem || g.problem || t("waits") })));
      if (p.problem || g.problem) {
        const b = el("button", { type: "button", className: "quiet", textContent: t("Remove") });
        b.addEventListener("click", async () => {
          await queue.drop(g.key, p.n);
          if (g.photos.length === 1) await queue.drop(g.key);
          await showWaiting();
        });
        row.append(b);
      }
      list.append(row);
    }
    box.append(el("h2", { textContent: g.label || t("for a new load") }), list);
  }
};

// ping asks the server for something small, to tell a network from none.
const ping = async () => {
  try {
    await fetch("/manifest.webmanifest?ping=" + Date.now(), { method: "HEAD", cache: "no-store" });
    unreachable = false;
  } catch { unreachable = true; }
  showNet();
};

let onSent = async () => {};

// flush sends what waits and shows how that goes.
const flush = async () => {
  const how = await queue.send(async (what) => {
    if (what.kind === "signed-out") say(t("You are signed out: sign in, then the photos go up."));
    if (what.kind === "later") say(t("The server does not answer; they are tried again."));
    if (what.kind !== "sending") await showWaiting();
    await onSent(what);
  });
  if (how === "offline") unreachable = true;
  else if (how === "done" && unreachable) unreachable = false;
  if (how === "offline" || !$("#net").textContent || navigator.onLine) showNetUnlessTold(how);
  const left = await showWaiting();
  if (left && secure) {
    try { await (await navigator.serviceWorker.ready).sync.register("send"); } catch { /* no background sync here: this page does it */ }
  }
  return how;
};

const showNetUnlessTold = (how) => { if (how === "offline" || how === "done") showNet(); };

addEventListener("online", () => { unreachable = false; showNet(); flush(); });
addEventListener("offline", showNet);
document.addEventListener("visibilitychange", () => { if (!document.hidden) tick(); });
const tick = async () => { if (!document.hidden && await showWaiting()) await flush(); else if (unreachable) await ping(); };
setInterval(tick, 10000);

if (secure) {
  navigator.serviceWorker.register("/sw.js").then(() => navigator.serviceWorker.ready).then((r) => {
    const keep = [location.pathname];
    for (const a of document.querySelectorAll('a[href$="/loads/new"], .crumbs a')) keep.push(a.getAttribute("href"));
    if (!["/sign-in"].includes(location.pathname) && !/^\/(join|crew)\//.test(location.pathname)) r.active.postMessage({ keep });
  }).catch(() => { /* a certificate that is not trusted: the page queues by itself */ });
  navigator.serviceWorker.addEventListener("message", async (e) => {
    if (e.data.queue) { unreachable = false; showNet(); await showWaiting(); }
    if (e.data.load && String(e.data.load) === liveLoad()) refresh();
  });
}

const out = $("[data-sign-out]");
if (out) out.addEventListener("submit", () => { if (secure && navigator.serviceWorker.controller) navigator.serviceWorker.controller.postMessage({ forget: true }); });

const sendNow = $("#send-now");
if (sendNow) sendNow.addEventListener("click", flush);

const known = $("#known-pages");
if (known && "caches" in self) (async () => {
  for (const name of await caches.keys()) {
    if (!name.startsWith("pages-")) continue;
    const cache = await caches.open(name);
    for (const request of await cache.keys()) {
      const path = new URL(request.url).pathname;
      if (!/^\/(harvests\/\d+(\/loads\/new)?|loads\/\d+)$/.test(path)) continue;
      const title = new DOMParser().parseFromString(await (await cache.match(request)).text(), "text/html").title;
      known.append(el("li", {}, el("a", { href: path, textContent: title.replace(" · gristmark", "") })));
    }
  }
  $("#known-pages-panel").hidden = !known.children.length;
})();

// ---- photos of a form

const MOST = 12;

const prepare = (form) => {
  const box = $("[data-photos]", form);
  const shown = $(".chosen", box);
  const send = $(".send", form);
  let files = [];
  const draw = () => {
    shown.querySelectorAll("img").forEach((i) => URL.revokeObjectURL(i.src));
    shown.replaceChildren(...files.map((f, i) => {
      const img = el("img", { src: URL.createObjectURL(f), alt: t("Photo %d", i + 1) });
      img.addEventListener("error", () => img.remove());
      const b = el("button", { type: "button", textContent: "✕" });
      b.setAttribute("aria-label", t("Remove photo %d", i + 1));
      b.addEventListener("click", () => { files.splice(i, 1); draw(); });
      return el("li", {}, img, b);
    }));
    if (send) send.hidden = !files.length;
  };
  for (const input of box.querySelectorAll("input[type=file]")) {
    input.addEventListener("change", () => {
      files = files.concat([...input.files]);
      if (files.length > MOST) { files = files.slice(0, MOST); say(t("At most 12 photos at once.")); }
      input.value = ""; // the camera gives one at a time: the next one adds to them
      draw();
    });
  }
  if (send) send.hidden = true;
  form.addEventListener("submit", (e) => submit(e, form, files, () => { files = []; draw(); }));
};

const submit = async (e, form, files, clear) => {
  const load = form.dataset.load;
  if (!files.length) {
    if (load) { e.preventDefault(); say(t("Choose a photo first.")); }
    return; // a load without photos goes the plain way
  }
  e.preventDefault();
  const button = $("button:not([type=button])", form);
  button.disabled = true;
  const fields = [...new FormData(form)].filter(([name, value]) => typeof value === "string" && name !== "key");
  const name = (fields.find(([n]) => n === "name") || [])[1];
  try {
    await queue.add({ harvest: form.dataset.harvest, load: load || "", fields: load ? [] : fields, label: form.dataset.label || name }, files);
  } catch (fault) {
    say(t("It could not be kept on this phone: %s", fault && fault.message));
    button.disabled = false;
    return;
  }
  clear();
  await showWaiting();
  const how = await flush();
  button.disabled = false;
  if (how === "offline" && !load) another(form, name);
  if (how === "offline") $("#net").scrollIntoView({ block: "center" });
};

// another makes the form ready for the next load: settings stay, a number at the end of the name goes on.
const another = (form, name) => {
  const next = (name || "").replace(/\d+$/, (n) => String(Number(n) + 1));
  if (next !== name) $("[name=name]", form).value = next;
};

onSent = async (what) => {
  const face = $(".send, .sticky .big");
  if (what.kind === "sending" && face) say(t("Sending photo %d of %d", what.at, what.of));
  if (what.kind === "refused") say(what.problem || t("refused"));
  if (what.kind !== "sent") return;
  const form = $('form[data-queue="load"]');
  if (form && !what.group.seen && String(what.group.harvest) === form.dataset.harvest) {
    what.group.seen = true;
    location.href = "/loads/" + what.group.load; // the other photos follow from there
  } else if (String(what.group.load) === liveLoad()) await refresh();
};

document.querySelectorAll("form[data-queue]").forEach(prepare);

// ---- a load being measured

const live = $("#live");
const liveLoad = () => live ? live.dataset.load : "";

let asked = false, again = false;
const refresh = async () => {
  if (asked) { again = true; return; }
  asked = true;
  try {
    do {
      again = false;
      const r = await fetch(`/loads/${live.dataset.load}/live`, { headers: { Accept: "text/html" } });
      if (!r.ok || r.redirected) break;
      const text = await r.text();
      live.dataset.busy = r.headers.get("Busy");
      if (text !== live.dataset.text) put(text);
    } while (again);
  } catch { /* no network: what is shown stays */ }
  asked = false;
};

// put shows the new state and keeps what was opened, and where the keyboard is.
const put = (text) => {
  const opened = [...live.querySelectorAll("details[open][data-keep]")].map((d) => d.dataset.keep);
  const focus = live.contains(document.activeElement) ? document.activeElement.closest("[id]") : null;
  const next = document.createElement("template");
  next.innerHTML = text;
  live.replaceChildren(next.content);
  for (const d of live.querySelectorAll("details[data-keep]")) d.open = opened.includes(d.dataset.keep);
  if (focus && document.getElementById(focus.id)) { const f = $("a, button, summary", document.getElementById(focus.id)); if (f) f.focus(); }
};

if (live) {
  let stream = null, poll = 0;
  const ask = () => { if (live.dataset.busy === "true") refresh(); };
  const follow = () => {
    if (stream || document.hidden || !("EventSource" in self)) { if (!("EventSource" in self)) poll = poll || setInterval(ask, 4000); return; }
    stream = new EventSource(`/loads/${live.dataset.load}/events`);
    stream.addEventListener("change", () => { clearInterval(poll); poll = 0; refresh(); });
    stream.addEventListener("error", () => { poll = poll || setInterval(ask, 4000); if (stream && stream.readyState === 2) stream = null; });
  };
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) { if (stream) stream.close(); stream = null; } else { follow(); refresh(); }
  });
  addEventListener("pagehide", () => { if (stream) stream.close(); stream = null; });
  addEventListener("pageshow", follow);
  follow();
}

showNet();
tick();
