// Keeps each reading as soon as it is typed: on the laptop, and until that has it, in this phone's own memory. The page works without: its buttons do the same.
"use strict";
(() => {
  const form = document.getElementById("round"), status = document.getElementById("kept");
  const store = "shedbook " + form.action;
  let waiting = {}, sending = false, later = 0;
  try { waiting = JSON.parse(localStorage.getItem(store) || "{}"); } catch { waiting = {}; }
  const save = () => { try { localStorage.setItem(store, JSON.stringify(waiting)); } catch { /* the laptop keeps it all the same */ } };
  const field = (kind, key) => form.elements.namedItem(kind + "." + key);
  const say = (text) => { if (status.textContent !== text) status.textContent = text; };

  // What stands at one place, as the form would send it.
  const take = (key) => {
    const had = field("h", key), sure = field("s", key);
    return { v: field("v", key).value, c: field("c", key).checked ? "1" : "", s: sure && sure.checked ? "1" : "", h: had ? "1" : "" };
  };
  const tell = (key, told) => {
    const box = document.getElementById("o-" + key), input = field("v", key);
    box.replaceChildren();
    box.parentElement.classList.toggle("odd", Boolean(told.odd || told.wrong));
    input.toggleAttribute("aria-invalid", Boolean(told.odd || told.wrong));
    if (told.odd || told.wrong) {
      const b = document.createElement("b");
      b.textContent = told.odd || told.wrong;
      box.append(b);
      input.setAttribute("aria-describedby", box.id);
    }
    if (told.odd) {
      const label = document.createElement("label"), tick = document.createElement("input"), text = document.createElement("span");
      label.className = "pick";
      tick.type = "checkbox"; tick.name = "s." + key; tick.value = "1";
      text.textContent = "it is right";
      label.append(tick, " ", text);
      box.append(label);
    }
    if (!field("h", key)) {
      const had = document.createElement("input");
      had.type = "hidden"; had.name = "h." + key; had.value = "1";
      box.parentElement.append(had);
    }
  };
  const send = async () => {
    const keys = Object.keys(waiting);
    if (sending || keys.length === 0) return;
    sending = true;
    const sent = { ...waiting }, body = new URLSearchParams({ token: form.elements.token.value });
    for (const key of keys) for (const kind of ["v", "c", "s", "h"]) if (kind === "v" || sent[key][kind]) body.set(kind + "." + key, sent[key][kind]);
    try {
      const stop = new AbortController(), timer = setTimeout(() => stop.abort(), 8000);
      const res = await fetch(form.action, { method: "POST", body, headers: { Accept: "application/json" }, signal: stop.signal });
      clearTimeout(timer);
      const got = await res.json();
      if (!res.ok) throw new Error(got.error);
      for (const key of keys) {
        if (JSON.stringify(waiting[key]) === JSON.stringify(sent[key])) delete waiting[key];
        if (got.told[key]) tell(key, got.told[key]);
      }
      save();
      say(got.said + " of " + got.all + " kept");
    } catch {
      say(Object.keys(waiting).length + " wait on this phone: the laptop does not answer. Go on; they are sent by themselves.");
      clearTimeout(later);
      later = setTimeout(send, 3000);
    }
    sending = false;
    if (Object.keys(waiting).length > 0) { clearTimeout(later); later = setTimeout(send, 1500); }
  };
  form.addEventListener("change", (e) => {
    const name = e.target.name || "", key = name.slice(2);
    if (!/^[vcs]\./.test(name)) return;
    waiting[key] = take(key);
    save();
    send();
  });
  form.addEventListener("keydown", (e) => {
    if (e.key !== "Enter" || !(e.target.name || "").startsWith("v.")) return;
    e.preventDefault();
    const all = [...form.querySelectorAll("[name^='v.']")], next = all[all.indexOf(e.target) + 1];
    e.target.dispatchEvent(new Event("change", { bubbles: true }));
    (next || form.querySelector("[value=review]")).focus();
  });
  // What waits on this phone goes first: sent again after the readings are signed it would begin another round.
  form.addEventListener("submit", async (e) => {
    if (Object.keys(waiting).length === 0) return;
    e.preventDefault();
    await send();
    if (Object.keys(waiting).length === 0) form.requestSubmit(e.submitter);
  });
  for (const [key, x] of Object.entries(waiting)) {
    if (!field("v", key)) { delete waiting[key]; continue; }
    field("v", key).value = x.v;
    field("c", key).checked = Boolean(x.c);
  }
  send();
})();
