"use strict";
// Turns what is drawn and says what reads. All facts come from the proof, in the page's JSON.
// A live page calls `dialViewer(main, kept)` again for each new picture; what it returns is kept from one to the next.
window.dialViewer = (main, kept) => {
  const find = (what) => main.querySelector(what);
  const all = (what) => [...main.querySelectorAll(what)];
  const facts = JSON.parse(find("[data-facts]").textContent);
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const state = Object.assign({ turned: [], apart: 0, through: 0, zoom: 1, flip: 0, theme: "" }, kept);
  const flips = { to: state.flip > 90 ? 180 : 0 };
  const layers = all("[data-layer]");
  const stage = find("[data-stage]");
  const frame = find("[data-frame]");
  const pin = find("[data-pin]");
  const sliders = all("[data-slider]");
  const radians = (degrees) => (degrees * Math.PI) / 180;
  const wrapped = (degrees) => degrees - 360 * Math.round(degrees / 360);
  let spot = null;

  // Stops.
  state.turned = facts.turns.map((turn, at) => state.turned[at] ?? turn.stops[0] ?? 0);
  const nearest = (turn) => {
    const away = facts.turns[turn].stops.map((stop) => Math.abs(wrapped(stop - state.turned[turn])));
    return away.indexOf(Math.min(...away));
  };
  const rests = (turn) => Math.abs(wrapped((facts.turns[turn].stops[nearest(turn)] ?? 0) - state.turned[turn])) < 0.5;
  const stopOf = (reading, stops) =>
    reading.stops[reading.turns.reduce((at, turn) => at * facts.turns[turn].stops.length + stops[turn], 0)];
  const millimetres = (margin) => (margin === null ? "nothing near could cover it" : `margin ${margin.toFixed(2)}mm`);
  const words = (reading, [due, shows, margin]) =>
    shows === null
      ? `${reading.ring} reads ${due} ${reading.how}, ${millimetres(margin)}`
      : `${reading.ring} misreads ${reading.how}: ${shows || "nothing"} instead of ${due}`;

  state.turned = facts.turns.map((turn, at) => turn.stops[nearest(at)] ?? 0);
  state.flip = flips.to;

  // Where each layer stands: a turn about its axis, then the way from the stack to the eye, all of it flat.
  const turnOf = (layer) => {
    // What is read on a wheel turns under what stands still: backwards, as stops go up. A hand goes forwards.
    const wheel = facts.wheels[layer];
    if (wheel) return wheel.sign * state.turned[wheel.turn];
    const still = facts.turns.reduce((sum, turn, at) => sum + (turn.lower ? state.turned[at] : 0), 0);
    return state.turned.slice(0, facts.layers[layer]).reduce((sum, by) => sum + by, 0) - still;
  };
  const placeOf = (layer) => {
    const tilt = radians(60 * state.apart);
    const round = radians(state.flip);
    const highest = Math.max(...facts.levels);
    const step = highest > 0 ? 1 / highest : 0;
    const up = (facts.levels[layer] - highest / 2) * step * state.apart;
    return {
      a: Math.cos(round), b: Math.sin(round) * Math.sin(tilt), d: Math.cos(tilt),
      x: up * Math.sin(round), y: -up * Math.cos(round),
    };
  };
  // The axis of a layer from the middle of the picture, to the right and down as shares of the reach; the back is drawn mirrored.
  const axisOf = (layer) => {
    const wheel = facts.wheels[layer];
    return wheel ? { x: wheel.x / facts.reach, y: -wheel.y / facts.reach } : { x: 0, y: 0 };
  };
  const percent = (share) => `${(share * 50).toFixed(3)}%`;
  const draw = () => {
    const front = Math.cos(radians(state.flip)) >= 0;
    const far = front ? 0 : layers.length - 1;
    layers.forEach((layer, at) => {
      const { a, b, d, x, y } = placeOf(at);
      // The back is drawn as it is seen, which is mirrored already.
      const mirror = front ? 1 : -1;
      const turn = (front ? 1 : -1) * turnOf(at);
      const axis = axisOf(at);
      const shift = facts.wheels[at] ? ` translate(${percent(mirror * axis.x)}, ${percent(axis.y)})` : "";
      layer.style.transform =
        `translate(${percent(x)}, ${percent(y)}) matrix(${a * mirror}, ${b * mirror}, 0, ${d}, 0, 0)${shift} rotate(${turn}deg)`;
      layer.style.zIndex = String(front ? at : layers.length - 1 - at);
      layer.style.opacity = String(at === far ? 1 : 1 - state.through);
      layer.dataset.side = front ? "front" : "back";
    });
    if (spot) {
      const { a, b, d, x, y } = placeOf(spot.layer);
      const by = radians(turnOf(spot.layer));
      const [right, down] = [spot.x / facts.reach, -spot.y / facts.reach];
      const axis = axisOf(spot.layer);
      const [u, v] = [axis.x + right * Math.cos(by) - down * Math.sin(by), axis.y + right * Math.sin(by) + down * Math.cos(by)];
      pin.style.left = `${50 * (1 + x + a * u)}%`;
      pin.style.top = `${50 * (1 + y + b * u + d * v)}%`;
    }
    pin.hidden = !spot;
  };

  // What is said: the slider's value, what stands beside the picture, and, once it rests, aloud.
  let last = "";
  const say = () => {
    const stops = facts.turns.map((_, turn) => nearest(turn));
    const rest = facts.turns.every((_, turn) => rests(turn));
    const where = stops.map((stop, turn) => `stop ${stop + 1} of ${facts.turns[turn].stops.length}`).join(" and ");
    const reads = facts.readings.map((reading) => [reading, stopOf(reading, stops)]).filter(([, stop]) => stop);
    const aloud = `${rest ? where : `near ${where}`}${reads.map(([reading, stop]) => `; ${words(reading, stop)}`).join("")}`;
    if (aloud === last) return;
    last = aloud;
    sliders.forEach((slider, turn) => {
      const mine = reads.filter(([reading]) => reading.turns.includes(turn));
      const told = mine.map(([reading, stop]) => `; ${words(reading, stop)}`).join("");
      slider.setAttribute("aria-valuenow", stops[turn] + 1);
      slider.setAttribute("aria-valuetext", `stop ${stops[turn] + 1} of ${facts.turns[turn].stops.length}${told}`);
    });
    const stands = find("[data-stands]");
    if (stands) stands.textContent = facts.turns.length ? where : "";
    const list = find("[data-reads]");
    list?.replaceChildren(...reads.map(([reading, stop]) => line(reading, stop)));
    all("[data-goes]").forEach((button) => {
      const here = goes(button).every(([turn, stop]) => stops[turn] === stop);
      if (here) button.setAttribute("aria-current", "true");
      else button.removeAttribute("aria-current");
    });
    find("[data-told]").textContent = aloud;
  };
  const element = (name, text, kind) => {
    const made = document.createElement(name);
    made.textContent = text;
    if (kind) made.className = kind;
    return made;
  };
  const line = (reading, [due, shows, margin]) => {
    const item = document.createElement("li");
    const label = element("bdi", shows === null ? due : `${shows || "nothing"}, not ${due}`, shows === null ? "label" : "label wrong");
    item.append(element("bdi", reading.ring), ` ${reading.how} `, label, shows === null ? millimetres(margin) : "✕ misreads");
    return item;
  };
  const thumbs = () =>
    sliders.forEach((slider, turn) => {
      const last = Math.max(1, facts.turns[turn].stops.length - 1);
      slider.querySelector(".thumb").style.left = `${(100 * nearest(turn)) / last}%`;
    });
  const show = () => { draw(); thumbs(); say(); };

  // Motion: each frame moves what is on its way; without motion it is there at once.
  const aims = new Map();
  let running = 0;
  const frames = (now) => {
    for (const [key, aim] of aims) {
      aim.since ??= now;
      const share = calm.matches ? 1 : Math.min(1, (now - aim.since) / aim.lasts);
      aim.set(aim.from + (aim.to - aim.from) * (1 - (1 - share) ** 3));
      if (share === 1) aims.delete(key);
    }
    show();
    running = aims.size ? requestAnimationFrame(frames) : 0;
    // What moves is kept as pixels and drawn anew where it rests; large pictures would take too much memory for that.
    stage.toggleAttribute("data-moving", state.zoom <= 2 && (aims.size > 0 || held !== null));
  };
  const move = (key, from, to, lasts, set) => {
    aims.set(key, { from, to, lasts, set });
    if (calm.matches) frames(0);
    else if (!running) running = requestAnimationFrame(frames);
  };
  const goTo = (turn, stop) => {
    const stops = facts.turns[turn].stops;
    const { ends } = facts.turns[turn];
    const at = ends ? Math.min(stops.length - 1, Math.max(0, stop)) : ((stop % stops.length) + stops.length) % stops.length;
    const from = state.turned[turn];
    // A pin lets it go back the way it came and no other.
    move(`turn ${turn}`, from, ends ? stops[at] : from + wrapped(stops[at] - from), 220, (by) => { state.turned[turn] = by; });
    aims.get(`turn ${turn}`) && (aims.get(`turn ${turn}`).stop = at);
  };
  const aimed = (turn) => aims.get(`turn ${turn}`)?.stop ?? nearest(turn);
  const flip = (to) => {
    flips.to = to;
    find("[data-flip]").setAttribute("aria-pressed", to === 180);
    move("flip", state.flip, to, 420, (by) => { state.flip = by; });
  };

  // Keys and pointer on the sliders, and the buttons beside them.
  const keys = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 5, PageDown: -5 };
  sliders.forEach((slider, turn) => {
    const count = facts.turns[turn].stops.length;
    slider.addEventListener("keydown", (event) => {
      const ends = { Home: 0, End: count - 1 };
      if (event.ctrlKey || event.altKey || event.metaKey) return;
      if (event.key in keys) goTo(turn, aimed(turn) + keys[event.key]);
      else if (event.key in ends) goTo(turn, ends[event.key]);
      else return;
      event.preventDefault();
    });
    const follow = (event) => {
      const box = slider.getBoundingClientRect();
      const share = Math.min(1, Math.max(0, (event.clientX - box.left) / box.width));
      const stop = Math.round(share * (count - 1));
      if (stop !== aimed(turn)) goTo(turn, stop);
    };
    slider.addEventListener("pointerdown", (event) => { slider.setPointerCapture(event.pointerId); slider.focus({ focusVisible: false }); follow(event); event.preventDefault(); });
    slider.addEventListener("pointermove", (event) => { if (slider.hasPointerCapture(event.pointerId)) follow(event); });
  });
  all("[data-step]").forEach((button) => {
    const turn = Number(button.dataset.turn);
    button.addEventListener("click", () => goTo(turn, aimed(turn) + Number(button.dataset.step)));
  });
  const goes = (button) => button.dataset.goes.split(" ").filter(Boolean).map((pair) => pair.split(":").map(Number));
  all("[data-goes]").forEach((button) => button.addEventListener("click", () => {
    goes(button).forEach(([turn, stop]) => goTo(turn, stop));
    const side = button.dataset.face === "back" ? 180 : 0;
    if (side !== flips.to) flip(side);
    frame.scrollIntoView({ block: "nearest" });
  }));

  // One finger or the mouse turns what it touches; two magnify and move the picture.
  const fingers = new Map();
  let held = null;
  const angle = (event, layer) => {
    const box = stage.getBoundingClientRect();
    const { a, d, x, y } = placeOf(layer);
    const right = (event.clientX - box.left) / box.width * 2 - 1 - x;
    const down = (event.clientY - box.top) / box.height * 2 - 1 - y;
    const axis = axisOf(layer);
    return (Math.atan2(right / (a || 1) - axis.x, -(down / (d || 1) - axis.y)) * 180) / Math.PI;
  };
  const pinch = () => {
    const [one, other] = [...fingers.values()];
    return {
      spread: Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY) || 1,
      x: (one.clientX + other.clientX) / 2, y: (one.clientY + other.clientY) / 2,
    };
  };
  stage.addEventListener("pointerdown", (event) => {
    const touched = event.target.closest?.("[data-layer]");
    if (!touched || event.button) return;
    fingers.set(event.pointerId, event);
    stage.setPointerCapture(event.pointerId);
    event.preventDefault();
    if (fingers.size === 2) {
      letGo();
      held = { zoom: state.zoom, start: pinch(), last: pinch() };
    } else if (facts.turns.length) {
      const layer = Number(touched.dataset.layer);
      // Where there are wheels, the board itself turns nothing.
      const wheel = facts.wheels[layer];
      if (!wheel && facts.wheels.some(Boolean)) return;
      const turn = wheel ? wheel.turn : Math.max(0, facts.layers[layer] - 1);
      aims.delete(`turn ${turn}`);
      held = { layer, turn, sign: wheel?.sign ?? (facts.turns[turn].lower ? -1 : 1), at: angle(event, layer) };
      stage.dataset.held = "";
    }
  });
  stage.addEventListener("pointermove", (event) => {
    if (!held || !fingers.has(event.pointerId) || (held.start && fingers.size < 2)) return;
    fingers.set(event.pointerId, event);
    if (held.start) {
      const now = pinch();
      zoomTo((held.zoom * now.spread) / held.start.spread);
      frame.scrollBy(held.last.x - now.x, held.last.y - now.y);
      held.last = now;
      return;
    }
    const at = angle(event, held.layer);
    const { ends, stops } = facts.turns[held.turn];
    const to = state.turned[held.turn] + held.sign * wrapped(at - held.at);
    state.turned[held.turn] = ends ? Math.min(Math.max(...stops), Math.max(Math.min(...stops), to)) : to;
    held.at = at;
    if (!running) running = requestAnimationFrame(frames);
  });
  const letGo = () => {
    if (held && held.turn !== undefined) goTo(held.turn, nearest(held.turn));
    held = null;
    delete stage.dataset.held;
  };
  for (const end of ["pointerup", "pointercancel"]) {
    stage.addEventListener(end, (event) => { if (fingers.delete(event.pointerId)) letGo(); });
  }

  // How it is looked at.
  const zoomTo = (zoom) => {
    const before = stage.clientWidth;
    const middle = [frame.scrollLeft + frame.clientWidth / 2, frame.scrollTop + frame.clientHeight / 2];
    state.zoom = Math.min(6, Math.max(1, zoom));
    stage.style.width = `${100 * state.zoom}%`;
    const grown = stage.clientWidth / before;
    frame.scrollTo(middle[0] * grown - frame.clientWidth / 2, middle[1] * grown - frame.clientHeight / 2);
    const slider = find('[data-view="zoom"]');
    if (slider) slider.value = state.zoom;
  };
  all("[data-view]").forEach((slider) => {
    const view = slider.dataset.view;
    slider.value = state[view];
    slider.addEventListener("input", () => {
      if (view === "zoom") return zoomTo(Number(slider.value));
      state[view] = Number(slider.value);
      draw();
    });
  });
  find("[data-flip]").setAttribute("aria-pressed", flips.to === 180);
  find("[data-flip]").addEventListener("click", () => flip(180 - flips.to));
  const tone = (at) => facts.tones.forEach((tones, number) => main.style.setProperty(`--tone-${number + 1}`, tones[at]));
  all('[name="tones"]').forEach((choice) => {
    if (state.tones !== undefined) choice.checked = choice.value === state.tones;
    choice.addEventListener("change", () => { state.tones = choice.value; tone(Number(choice.value)); });
    if (choice.checked) tone(Number(choice.value));
  });
  const theme = (name) => { state.theme = name; document.documentElement.dataset.theme = name; };
  all('[name="theme"]').forEach((choice) => {
    choice.checked = choice.value === state.theme;
    choice.addEventListener("change", () => theme(choice.value));
  });
  all("[data-shows]").forEach((box) => {
    const layer = layers[Number(box.dataset.shows)];
    box.addEventListener("change", () => layer.toggleAttribute("data-absent", !box.checked));
  });

  // Findings: choosing one opens its lines and marks its place.
  all("[data-finding]").forEach((button) => button.addEventListener("click", () => {
    const opens = button.getAttribute("aria-expanded") !== "true";
    all("[data-finding]").forEach((other) => {
      const open = opens && other === button;
      other.setAttribute("aria-expanded", open);
      document.getElementById(other.getAttribute("aria-controls")).hidden = !open;
    });
    const at = opens && button.dataset.spot ? button.dataset.spot.split(" ").map(Number) : null;
    spot = at && { layer: at[0], x: at[1], y: at[2] };
    draw();
    if (spot) frame.scrollIntoView({ block: "nearest" });
  }));

  zoomTo(state.zoom);
  show();
  return state;
};
for (const main of document.querySelectorAll("[data-viewer]")) window.dialViewer(main);
