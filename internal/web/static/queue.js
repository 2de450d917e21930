// The queue of photos that wait for a network, kept in IndexedDB. Loaded by pages and by the service worker, so it defines
// one global, gristQueue, and touches no document.
//
// A group is what one form brought: {key, harvest, load, fields, label, at, problem}. Its photos lie beside it: {group, n, name, blob,
// problem}. A group for a new load has no load until its first photo is through. Every photo goes up under a key of its own that never
// changes, so that one sent twice is taken once.
self.gristQueue = (() => {
  const open = () => new Promise((done, fail) => {
    const r = indexedDB.open("gristmark", 1);
    r.onupgradeneeded = () => {
      r.result.createObjectStore("groups", { keyPath: "key" });
      r.result.createObjectStore("photos", { keyPath: ["group", "n"] });
    };
    r.onsuccess = () => done(r.result);
    r.onerror = () => fail(r.error);
    r.onblocked = () => fail(new Error("blocked"));
  });

  let db;
  const store = async (mode, work) => {
    db = db || await open();
    return new Promise((done, fail) => {
      const t = db.transaction(["groups", "photos"], mode);
      let out;
      t.oncomplete = () => done(out && out.result !== undefined ? out.result : out);
      t.onerror = t.onabort = () => fail(t.error || new Error("aborted"));
      out = work(t.objectStore("groups"), t.objectStore("photos"));
    });
  };

  const groups = async () => (await store("readonly", (g) => g.getAll())).sort((a, b) => a.at - b.at);
  const photos = (key) => store("readonly", (_, p) => p.getAll(IDBKeyRange.bound([key, 0], [key, 1e9])));

  // random gives a key of 128 bits; getRandomValues works without HTTPS too.
  const random = () => Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, "0")).join("");

  // add keeps the photos of a form; when it returns they are on this phone's disk.
  const add = async (group, files) => {
    const key = random();
    await store("readwrite", (g, p) => {
      g.put({ ...group, key, at: Date.now(), problem: "" });
      files.forEach((f, n) => p.put({ group: key, n, name: f.name || "photo.jpg", blob: f, problem: "" }));
    });
    return key;
  };

  const drop = (key, n) => store("readwrite", (g, p) => {
    if (n === undefined) {
      p.delete(IDBKeyRange.bound([key, 0], [key, 1e9]));
      g.delete(key);
    } else p.delete([key, n]);
  });

  // list is all that waits: [{...group, photos: [...]}].
  const list = async () => {
    const out = [];
    for (const g of await groups()) out.push({ ...g, photos: await photos(g.key) });
    return out;
  };

  const waiting = async () => (await list()).reduce((n, g) => n + (g.problem ? 0 : g.photos.filter((p) => !p.problem).length), 0);

  // post sends one photo. It throws where there is no network.
  const post = async (group, photo) => {
    const form = new FormData();
    const first = !group.load;
    form.append("key", first ? group.key : group.key + "-p" + photo.n);
    if (first) for (const [name, value] of group.fields) form.append(name, value);
    form.append("photo", photo.blob, photo.name);
    const stop = new AbortController();
    const late = setTimeout(() => stop.abort(), 180000);
    try {
      const r = await fetch(first ? `/harvests/${group.harvest}/loads` : `/loads/${group.load}/photos`,
        { method: "POST", body: form, headers: { Accept: "application/json" }, signal: stop.signal, credentials: "same-origin" });
      let answer = {};
      try { answer = await r.json(); } catch { /* not of this server, or cut off */ }
      return { status: r.status, answer };
    } finally { clearTimeout(late); }
  };

  // passing are answers after which the same photo is tried again later.
  const passing = (status) => status === 401 || status === 408 || status === 429 || status >= 500;

  // group sends one group's photos in order; it returns false where the rest has to wait.
  const sendGroup = async (group, tell) => {
    const list = (await photos(group.key)).filter((p) => !p.problem);
    for (const [i, photo] of list.entries()) {
      await tell({ kind: "sending", group, photo, at: i + 1, of: list.length });
      const { status, answer } = await post(group, photo);
      if (passing(status) || status === 0) {
        await tell({ kind: status === 401 ? "signed-out" : "later", group });
        return false;
      }
      if (answer.load) {
        group.load = answer.load;
        await store("readwrite", (g) => { g.put(group); });
      }
      if (status >= 200 && status < 300 && answer.load) {
        await drop(group.key, photo.n);
        await tell({ kind: "sent", group, photo, left: list.length - i - 1 });
      } else if (status >= 400) {
        await refuse(group, photo, answer.problem || String(status), !group.load);
        await tell({ kind: "refused", group, photo, problem: answer.problem });
        if (!group.load) return true;
      } else return false; // answered by something else on the way, such as a sign-in page of the network
    }
    if (!(await photos(group.key)).length) await drop(group.key);
    return true;
  };

  const refuse = (group, photo, problem, all) => store("readwrite", (g, p) => {
    if (all) g.put({ ...group, problem });
    else p.put({ ...photo, problem });
  });

  const work = async (tell) => {
    for (const group of await groups()) {
      if (group.problem) continue;
      if (!await sendGroup(group, tell)) return;
    }
  };

  // alone lets one page or worker send at a time. Where there are no locks (no HTTPS) only this page's own sending is held apart:
  // the keys keep two pages from sending a photo twice in effect.
  let going = null;
  const alone = (what) => {
    if (self.navigator.locks) return navigator.locks.request("gristmark-send", { ifAvailable: true }, (lock) => lock ? what() : "busy");
    if (going) return going.then(() => "busy");
    going = what().finally(() => { going = null; });
    return going;
  };

  // send sends what waits. It never throws: "offline", "busy" or "done".
  const send = async (tell = async () => {}) => {
    try {
      return (await alone(() => work(tell))) === "busy" ? "busy" : "done";
    } catch (e) {
      return "offline";
    }
  };

  return { add, drop, list, waiting, send };
})();
