"use strict";
// Follows the file: asks for the state whenever word of a new one comes, and keeps the last good picture meanwhile.
(() => {
  const find = (what) => document.querySelector(what);
  const token = find('meta[name="token"]').content;
  const picture = find("#picture");
  const params = find("#params");
  const boards = find("#boards details");
  const variants = find("#variants");
  const chosen = { variant: null, set: new Map() };
  const said = new Map();
  let kept = null;
  let revision = null;
  let asking = false;
  let again = false;

  const query = () => {
    const query = new URLSearchParams();
    if (chosen.variant !== null) query.append("variant", chosen.variant);
    for (const [name, value] of chosen.set) query.append(`set.${name}`, value);
    return query;
  };
  const status = (words, wrong) => {
    find("#state").textContent = words;
    find("#state").classList.toggle("wrong", Boolean(wrong));
  };
  // Markup is put in only where it is another one, so that what is used is not taken away.
  const put = (place, markup) => {
    if (said.get(place) === markup) return false;
    said.set(place, markup);
    place.innerHTML = markup;
    return true;
  };

  const ask = async () => {
    if (asking) { again = true; return; }
    asking = true;
    do {
      again = false;
      try {
        const reply = await fetch(`/state?${query()}`);
        if (!reply.ok) status(await reply.text(), true);
        else show(await reply.json());
      } catch {
        status("the program was stopped; start it again and open the address that it prints", true);
      }
    } while (again);
    asking = false;
  };

  const show = (state) => {
    const errors = find("#errors");
    errors.hidden = state.errors === null;
    if (state.errors) {
      put(errors.querySelector("div"), state.errors.list);
      findings(errors);
    }
    const shows = state.picture ?? (picture.firstChild ? null : state.before);
    if (shows) draw(shows, state.title);
    find("#errors > p").hidden = !picture.firstChild;
    status(state.errors ? state.errors.count : state.verdict, state.errors);
    names(state);
    if (state.params !== null) knobs(state.params);
    document.documentElement.dataset.revision = state.revision;
    revision = state.revision;
    if (boards.open && state.picture !== null) leaves();
  };
  const draw = (markup, title) => {
    const focus = ["slider", "view", "step", "flip", "play", "size", "save", "frame"].map((name) => [name, document.activeElement?.dataset?.[name]]);
    if (!put(picture, markup)) return;
    kept = window.dialViewer(picture.firstElementChild, kept);
    if (title) document.title = title;
    const [name, value] = focus.find(([, value]) => value !== undefined) ?? [];
    if (name) find(`[data-${name}="${value}"]`)?.focus();
  };
  const findings = (place) => place.querySelectorAll("[data-finding]").forEach((button) => {
    const lines = place.querySelector(`#${button.getAttribute("aria-controls")}`);
    const open = (open) => { button.setAttribute("aria-expanded", open); lines.hidden = !open; };
    open(true);
    button.onclick = () => open(lines.hidden);
  });
  const names = (state) => {
    variants.hidden = state.variants.length < 2;
    const select = variants.querySelector("select");
    const options = state.variants.map((name) => new Option(name, name, false, name === state.variant));
    if (document.activeElement !== select) select.replaceChildren(...options);
  };
  variants.querySelector("select").addEventListener("change", (event) => {
    chosen.variant = event.target.value;
    ask();
  });

  // Params: every change is tried at once; only the button writes it into the file.
  let told = 0;
  const tell = (words) => {
    params.querySelector('p[role="status"]').textContent = words;
    clearTimeout(told);
    told = setTimeout(() => { params.querySelector('p[role="status"]').textContent = ""; }, 20_000);
  };
  // What is shown but stands in no file, so that nobody takes it for what would be built.
  const tried = () => {
    const place = find("#tried");
    const values = [...chosen.set].map(([name, value]) => `${name} = ${value}`);
    place.hidden = values.length === 0;
    place.firstElementChild.textContent = `Shown but not written: ${values.join(", ")}.`;
    document.documentElement.toggleAttribute("data-tried", values.length > 0);
  };
  const reset = (names) => {
    names.forEach((name) => chosen.set.delete(name));
    said.delete(params.querySelector("div"));
    tell("");
    tried();
    ask();
  };
  find("[data-resets]").addEventListener("click", () => reset([...chosen.set.keys()]));
  const knobs = (markup) => {
    params.hidden = markup === "";
    const held = document.activeElement?.closest?.("[data-knob]");
    const place = params.querySelector("div");
    if (held && held.querySelector("input, select") === document.activeElement && chosen.set.has(held.dataset.knob)) return;
    if (!put(place, markup)) return;
    place.querySelectorAll("[data-knob]").forEach(knob);
  };
  const knob = (place) => {
    const name = place.dataset.knob;
    const input = place.querySelector("input, select");
    const write = place.querySelector("[data-writes]");
    const back = place.querySelector("[data-reset]");
    const mark = () => {
      if (write) write.disabled = !chosen.set.has(name);
      if (back) back.hidden = !chosen.set.has(name);
      tried();
    };
    mark();
    back?.addEventListener("click", () => reset([name]));
    input.addEventListener("input", () => {
      const value = input.dataset.unit === undefined ? input.value : `${input.value}${input.dataset.unit}`;
      const output = place.querySelector("output");
      if (output) output.textContent = value;
      chosen.set.set(name, value);
      tell("");
      mark();
      ask();
    });
    write?.addEventListener("click", async () => {
      const wish = { param: name, value: chosen.set.get(name), seen: place.dataset.digest };
      try {
        const reply = await fetch("/write", { method: "POST", headers: { "x-dialwright-token": token }, body: JSON.stringify(wish) });
        const told = await reply.text();
        if (reply.ok) { chosen.set.delete(name); mark(); }
        // The file is read anew at once, and what is told stays until it is changed again.
        await ask();
        tell(told);
        return;
      } catch {
        tell("nothing was written: the program was stopped");
      }
      ask();
    });
  };

  // Boards, one setup at a time.
  const leaves = async () => {
    const asked = query();
    asked.append("revision", revision);
    const place = boards.querySelector("div");
    const reply = await fetch(`/boards?${asked}`);
    const open = place.querySelectorAll(".setup").length ? leaf : 0;
    if (reply.ok && put(place, await reply.text())) turn(open);
  };
  let leaf = 0;
  const turn = (to) => {
    const all = [...boards.querySelectorAll(".setup")];
    if (!all.length) return;
    leaf = Math.min(all.length - 1, Math.max(0, to));
    all.forEach((setup, at) => { setup.hidden = at !== leaf; });
    boards.querySelector("[data-leaves]").textContent = `${leaf + 1} of ${all.length}`;
  };
  boards.addEventListener("toggle", () => { if (boards.open) leaves(); });
  boards.addEventListener("click", (event) => {
    const button = event.target.closest("[data-leaf]");
    if (button) turn(leaf + Number(button.dataset.leaf));
  });

  // Word of new states. A page out of sight listens no longer: a browser keeps few lines open to one place.
  let line = null;
  const listen = () => {
    line?.close();
    line = null;
    if (document.hidden) return;
    line = new EventSource("/events");
    line.onmessage = ask;
    line.onerror = () => status("the program was stopped; start it again and open the address that it prints", true);
  };
  document.addEventListener("visibilitychange", listen);
  addEventListener("pagehide", () => line?.close());
  listen();
})();
