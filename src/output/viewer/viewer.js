// Turns what is drawn and says what reads. All facts come from the proof, in the page's JSON.
// A live page calls `dialViewer(main, kept)` again for each new picture; what it returns is kept from one to the next.
window.dialViewer = (main, kept) => {
  const find = (what) => main.querySelector(what);
  const all = (what) => [...main.querySelectorAll(what)];
  const facts = JSON.parse(find("[data-facts]").textContent);
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const state = Object.assign({ turned: [], apart: 0, through: 0, zoom: 1, flip: 0, theme: "", reach: 0 }, kept);
  // How much of the world the frame shows at first: kept from one picture to the next, so that a dial that grows is seen to grow.
  if (facts.reach > state.reach) state.reach = facts.reach;
  const flips = { to: state.flip > 90 ? 180 : 0 };
  const layers = all("[data-layer]");
  const shadows = all("[data-shadow]");
  const magnets = all("[data-magnet]");
  const walls = layers.map((layer) => ["front", "back"].map((face) => [...layer.querySelectorAll(`.${face} .walls use`)]));
  const ruler = find("[data-ruler]");
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
  // The stops on either side of where a turn stands, the former first.
  const beside = (turn) => {
    const on = (from, to) => ((to - from) % 360 + 360) % 360;
    const { stops } = facts.turns[turn];
    const nearer = (way) => stops.reduce((best, stop, at) => (way(stop) < way(stops[best]) ? at : best), 0);
    return [nearer((stop) => on(stop, state.turned[turn])), nearer((stop) => on(state.turned[turn], stop))];
  };
  const words = (reading, [due, shows, margin]) =>
    shows === null
      ? `${reading.ring} reads ${due} ${reading.how}, ${millimetres(margin)}`
      : `${reading.ring} misreads ${reading.how}: ${shows || "nothing"} instead of ${due}`;

  state.turned = facts.turns.map((turn, at) => turn.stops[nearest(at)] ?? 0);
  state.flip = flips.to;

  // Where each layer stands: a turn about its axis, then the way from the stack to the eye, all of it flat. As a person holds a dial,
  // one layer stands upright and the others turn over or under it.
  const onStack = (layer) => {
    // What is read on a wheel turns under what stands still: backwards, as stops go up. A hand goes forwards.
    const wheel = facts.wheels[layer];
    if (wheel) return wheel.sign * state.turned[wheel.turn];
    return state.turned.slice(0, facts.layers[layer]).reduce((sum, by) => sum + by, 0);
  };
  const inFront = () => Math.cos(radians(state.flip)) >= 0;
  const held_up = () => facts.upright[inFront() ? 0 : 1];
  const turnOf = (layer) => onStack(layer) - onStack(held_up());
  const highest = Math.max(...facts.levels);
  const thickest = Math.max(...facts.thick) / facts.reach;
  const placeAt = (level) => {
    const tilt = radians(60 * state.apart);
    const round = radians(state.flip);
    const up = highest > 0 ? ((level - highest / 2) / highest) * state.apart : 0;
    // Apart it is smaller, so that all of it stays within the picture.
    const k = state.apart > 0 ? Math.min(1, 1 / (Math.cos(tilt) + 0.5 * state.apart + 0.6 * thickest * Math.sin(tilt))) : 1;
    return {
      a: k * Math.cos(round), b: k * Math.sin(round) * Math.sin(tilt), d: k * Math.cos(tilt),
      x: k * up * Math.sin(round), y: -k * up * Math.cos(round), k,
    };
  };
  const placeOf = (layer) => placeAt(facts.levels[layer]);
  // The axis of a layer from the middle of the picture, to the right and down as shares of the reach; the back is drawn mirrored.
  const axisOf = (layer) => {
    const wheel = facts.wheels[layer];
    return wheel ? { x: wheel.x / facts.reach, y: -wheel.y / facts.reach } : { x: 0, y: 0 };
  };
  const percent = (share) => `${(share * 50).toFixed(3)}%`;
  const standing = ({ a, b, d, x, y }, mirror, layer) => {
    const axis = axisOf(layer);
    const shift = facts.wheels[layer] ? ` translate(${percent(mirror * axis.x)}, ${percent(axis.y)})` : "";
    return `translate(${percent(x)}, ${percent(y)}) matrix(${a * mirror}, ${b * mirror}, 0, ${d}, 0, 0)${shift} rotate(${mirror * turnOf(layer)}deg)`;
  };
  // Where a place of a layer, in mm of its front, is seen: shares of half the picture.
  const seenAt = ({ a, b, d, x, y }, layer, right, down) => {
    const by = radians(turnOf(layer));
    const axis = axisOf(layer);
    const [u, v] = [axis.x + right * Math.cos(by) - down * Math.sin(by), axis.y + right * Math.sin(by) + down * Math.cos(by)];
    return [x + a * u, y + b * u + d * v];
  };
  const draw = () => {
    const front = inFront();
    const far = front ? 0 : layers.length - 1;
    const depth = (at) => 10 * (front ? at : layers.length - 1 - at);
    stage.toggleAttribute("data-flat", state.apart === 0);
    layers.forEach((layer, at) => {
      const place = placeOf(at);
      // The back is drawn as it is seen, which is mirrored already.
      const mirror = front ? 1 : -1;
      layer.style.transform = standing(place, mirror, at);
      layer.style.zIndex = String(depth(at));
      layer.style.opacity = String(at === far ? 1 : 1 - state.through);
      layer.dataset.side = front ? "front" : "back";
      // The light stands still, so the shadow goes the same way however the layer is turned.
      const [right, down] = facts.falls[at].map((way) => way / facts.reach);
      shadows[at].style.transform = standing({ ...place, x: place.x + right, y: place.y + down }, 1, at);
      shadows[at].style.zIndex = String(depth(at) - 1);
      shadows[at].style.opacity = String((at === far ? 1 : 1 - state.through) * (1 - state.apart));
      if (state.apart > 0) wall(at, place, mirror);
    });
    magnets.forEach((magnet, at) => float(magnet, facts.magnets[at], depth));
    if (spot) {
      const [x, y] = seenAt(placeOf(spot.layer), spot.layer, spot.x / facts.reach, -spot.y / facts.reach);
      pin.style.left = `${50 * (1 + x)}%`;
      pin.style.top = `${50 * (1 + y)}%`;
    }
    pin.hidden = !spot;
  };
  // The thickness of a layer that is looked at from aside: its outlines go down by steps, as they are seen.
  const wall = (at, { a, b, d, k }, mirror) => {
    const { [mirror === 1 ? 0 : 1]: copies } = walls[at];
    const round = radians(state.flip);
    const deep = k * facts.thick[at] * Math.sin(radians(60 * state.apart));
    const by = radians(mirror * turnOf(at));
    copies.forEach((copy, number) => {
      const way = (deep * (copies.length - number)) / copies.length;
      const [x, y] = [-Math.sin(round) * way, Math.cos(round) * way * (mirror === 1 ? 1 : -1)];
      // Back through the matrix of the layer, so that it goes down on the screen.
      const u = Math.abs(a) < 0.02 ? 0 : x / (a * mirror);
      const v = (y - b * mirror * u) / (d || 1);
      copy.setAttribute("transform", `translate(${(u * Math.cos(by) + v * Math.sin(by)).toFixed(3)} ${(v * Math.cos(by) - u * Math.sin(by)).toFixed(3)})`);
    });
  };
  // A magnet floats before its seat and shows the pole that looks at the reader.
  const float = (magnet, { layer, front, x, y, radius, up }, depth) => {
    magnet.hidden = state.apart < 0.3;
    if (magnet.hidden) return;
    const level = facts.levels[layer] + (front ? 0.25 : -0.25);
    const place = placeAt(level);
    const axis = facts.wheels[layer] ?? { x: 0, y: 0 };
    const [right, down] = seenAt(place, layer, (x - axis.x) / facts.reach, -(y - axis.y) / facts.reach);
    const north = up === inFront();
    magnet.className = up === null ? "magnet plain" : north ? "magnet north" : "magnet";
    magnet.firstElementChild.textContent = up === null ? "" : north ? "N" : "S";
    magnet.style.width = `${(100 * place.k * radius) / facts.reach}%`;
    magnet.style.transform = `translate(-50%, -50%) matrix(${place.a}, ${place.b}, 0, ${place.d}, 0, 0)`;
    magnet.style.left = `${50 * (1 + right)}%`;
    magnet.style.top = `${50 * (1 + down)}%`;
    magnet.style.zIndex = String(depth(layer) + (front === inFront() ? 5 : -5));
  };

  // What is said: the slider's value, what stands beside the picture, and, once it rests, aloud.
  let last = "";
  const standsAt = (turn) => {
    const of = `of ${facts.turns[turn].stops.length}`;
    if (rests(turn)) return `stop ${nearest(turn) + 1} ${of}`;
    const [former, next] = beside(turn);
    return `between stops ${former + 1} and ${next + 1} ${of}`;
  };
  const say = () => {
    const stops = facts.turns.map((_, turn) => nearest(turn));
    const where = facts.turns.map((_, turn) => standsAt(turn)).join(" and ");
    const resting = (reading) => reading.turns.every(rests);
    const reads = facts.readings.map((reading) => [reading, stopOf(reading, stops)]).filter(([, stop]) => stop);
    const told = reads.filter(([reading]) => resting(reading));
    const aloud = `${where}${told.map(([reading, stop]) => `; ${words(reading, stop)}`).join("")}`;
    if (aloud === last) return;
    last = aloud;
    sliders.forEach((slider, turn) => {
      const mine = told.filter(([reading]) => reading.turns.includes(turn));
      slider.setAttribute("aria-valuenow", stops[turn] + 1);
      slider.setAttribute("aria-valuetext", `${standsAt(turn)}${mine.map(([reading, stop]) => `; ${words(reading, stop)}`).join("")}`);
    });
    const stands = find("[data-stands]");
    if (stands) stands.textContent = facts.turns.length ? where : "";
    const list = find("[data-reads]");
    list?.replaceChildren(...reads.map(([reading, stop]) => (resting(reading) ? line(reading, stop) : between(reading))));
    all("[data-goes]").forEach((button) => {
      const here = pairs(button.dataset.goes).every(([turn, stop]) => rests(turn) && stops[turn] === stop);
      if (here) button.setAttribute("aria-current", "true");
      else button.removeAttribute("aria-current");
    });
    // What is only passed on the way is not said aloud.
    if (aims.size === 0) find("[data-told]").textContent = aloud;
    else last = "";
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
  const between = (reading) => {
    const item = document.createElement("li");
    item.append(element("bdi", reading.ring), ` ${reading.how} `, element("span", "—", "label"), "between stops nothing is due");
    return item;
  };
  const thumbs = () =>
    sliders.forEach((slider, turn) => {
      const last = Math.max(1, facts.turns[turn].stops.length - 1);
      slider.querySelector(".thumb").style.left = `${(100 * nearest(turn)) / last}%`;
    });
  const show = () => { draw(); thumbs(); say(); note(); };
  // The stop stands in the address, so that it can be passed on.
  const HASH = /^#stop-(\d+(?:-\d+)*)$/;
  const note = () => {
    if (aims.size || held || !facts.turns.length || !facts.turns.every((_, turn) => rests(turn))) return;
    const wanted = `#stop-${facts.turns.map((_, turn) => nearest(turn) + 1).join("-")}`;
    const now = location.hash;
    const unmoved = now === "" && facts.turns.every((_, turn) => nearest(turn) === 0);
    if (now === wanted || unmoved || (now !== "" && !HASH.test(now))) return;
    try { history.replaceState(history.state, "", wanted); } catch { /* A page that may not have an address has none. */ }
  };
  const follow = () => {
    const [, named] = HASH.exec(location.hash) ?? [];
    named?.split("-").slice(0, facts.turns.length).forEach((stop, turn) => {
      if (stop >= 1 && stop <= facts.turns[turn].stops.length && aimed(turn) !== stop - 1) goTo(turn, stop - 1);
    });
  };

  // Motion: each frame moves what is on its way; without motion it is there at once.
  const aims = new Map();
  let running = 0;
  let settling = 0;
  const frames = (now) => {
    for (const [key, aim] of aims) {
      aim.since ??= now;
      const share = calm.matches ? 1 : Math.min(1, (now - aim.since) / aim.lasts);
      aim.set(aim.from + (aim.to - aim.from) * (1 - (1 - share) ** 3));
      if (share === 1) aims.delete(key);
    }
    show();
    running = aims.size ? requestAnimationFrame(frames) : 0;
    // What moves is kept as pixels, and drawn anew once it has rested for a while: not at every stop that it passes.
    clearTimeout(settling);
    if (state.apart === 0 && (aims.size > 0 || held !== null)) stage.toggleAttribute("data-moving", true);
    else settling = setTimeout(() => stage.toggleAttribute("data-moving", false), 400);
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
      rest();
      event.preventDefault();
    });
    const reach = (event) => {
      const box = slider.getBoundingClientRect();
      const share = Math.min(1, Math.max(0, (event.clientX - box.left) / box.width));
      const stop = Math.round(share * (count - 1));
      if (stop !== aimed(turn)) goTo(turn, stop);
    };
    slider.addEventListener("pointerdown", (event) => { slider.setPointerCapture(event.pointerId); slider.focus({ focusVisible: false }); rest(); reach(event); event.preventDefault(); });
    slider.addEventListener("pointermove", (event) => { if (slider.hasPointerCapture(event.pointerId)) reach(event); });
  });
  all("[data-step]").forEach((button) => {
    const turn = Number(button.dataset.turn);
    button.addEventListener("click", () => { rest(); goTo(turn, aimed(turn) + Number(button.dataset.step)); });
  });

  // By itself through all stops of its last turn, then on by one of the turn before, as a counter does.
  const play = find("[data-play]");
  let playing = 0;
  const rest = () => {
    clearInterval(playing);
    playing = 0;
    play?.setAttribute("aria-pressed", "false");
  };
  const step = () => {
    if (!main.isConnected) return rest();
    for (let turn = facts.turns.length - 1; turn >= 0; turn -= 1) {
      const next = aimed(turn) + 1;
      goTo(turn, next % facts.turns[turn].stops.length);
      if (next < facts.turns[turn].stops.length) return;
    }
  };
  play?.addEventListener("click", () => {
    if (playing) return rest();
    play.setAttribute("aria-pressed", "true");
    step();
    playing = setInterval(step, 1200);
  });
  const pairs = (text) => text.split(" ").filter(Boolean).map((pair) => pair.split(":").map(Number));
  all("[data-goes]").forEach((button) => button.addEventListener("click", () => {
    rest();
    pairs(button.dataset.goes).forEach(([turn, stop]) => goTo(turn, stop));
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
  // Which turn a touch of a layer moves, and which way: what is held up stays, and what turns under it follows the finger.
  const turnAt = (layer) => {
    const wheel = facts.wheels[layer];
    if (wheel) return { turn: wheel.turn, sign: wheel.sign };
    // Where there are wheels, the board itself turns nothing.
    if (!facts.turns.length || facts.wheels.some(Boolean)) return null;
    const up = facts.layers[held_up()];
    const own = facts.layers[layer];
    // Between what is held up and what is touched; from what is held up, the turn next to it.
    if (own > up) return { turn: own - 1, sign: 1 };
    if (own < up) return { turn: own, sign: -1 };
    return up > 0 ? { turn: up - 1, sign: -1 } : { turn: 0, sign: 1 };
  };
  stage.addEventListener("pointerdown", (event) => {
    const touched = event.target.closest?.("[data-layer]");
    if (!touched || event.button) return;
    frame.focus({ preventScroll: true, focusVisible: false });
    fingers.set(event.pointerId, event);
    stage.setPointerCapture(event.pointerId);
    event.preventDefault();
    rest();
    if (fingers.size === 2) {
      letGo();
      held = { zoom: state.zoom, start: pinch(), last: pinch() };
      return;
    }
    const layer = Number(touched.dataset.layer);
    const moves = turnAt(layer);
    if (!moves) return;
    aims.delete(`turn ${moves.turn}`);
    held = { layer, ...moves, at: angle(event, layer) };
    stage.dataset.held = "";
  });
  stage.addEventListener("pointermove", (event) => {
    if (!held || !fingers.has(event.pointerId) || (held.start && fingers.size < 2)) return;
    fingers.set(event.pointerId, event);
    if (held.start) {
      const now = pinch();
      zoomTo((held.zoom * now.spread) / held.start.spread, now);
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
    const turn = held?.turn;
    held = null;
    if (turn !== undefined) goTo(turn, nearest(turn));
    delete stage.dataset.held;
  };
  for (const end of ["pointerup", "pointercancel"]) {
    stage.addEventListener(end, (event) => { if (fingers.delete(event.pointerId)) letGo(); });
  }
  // A finger on the dial turns it; beside it the page is moved, as everywhere.
  stage.addEventListener("touchstart", (event) => { if (event.target.closest?.("[data-layer]")) event.preventDefault(); }, { passive: false });
  // Beside the dial the picture is moved.
  let pan = null;
  frame.addEventListener("pointerdown", (event) => {
    if (event.pointerType !== "mouse" || event.button || event.target.closest?.("[data-layer]")) return;
    pan = { x: event.clientX, y: event.clientY };
    frame.setPointerCapture(event.pointerId);
  });
  frame.addEventListener("pointermove", (event) => {
    if (!pan || !frame.hasPointerCapture(event.pointerId)) return;
    frame.scrollBy(pan.x - event.clientX, pan.y - event.clientY);
    pan = { x: event.clientX, y: event.clientY };
  });
  frame.addEventListener("lostpointercapture", () => { pan = null; });
  // The wheel magnifies where somebody works on the picture, and scrolls the page where it is only passed.
  frame.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !frame.contains(document.activeElement)) return;
    event.preventDefault();
    zoomTo(state.zoom * 2 ** (-event.deltaY / (event.ctrlKey ? 100 : 400)), { x: event.clientX, y: event.clientY });
  }, { passive: false });
  frame.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.target !== frame) return;
    const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (event.key === "+" || event.key === "=") zoomTo(state.zoom * 1.25);
    else if (event.key === "-") zoomTo(state.zoom / 1.25);
    else if (event.key === "0") whole();
    else if (by && state.zoom <= 1 && facts.turns.length) { rest(); goTo(facts.turns.length - 1, aimed(facts.turns.length - 1) + by); }
    else return;
    event.preventDefault();
  });

  // How it is looked at.
  // The point that is looked at stays where it is.
  const zoomTo = (zoom, about) => {
    const box = frame.getBoundingClientRect();
    const at = about ? [about.x - box.left, about.y - box.top] : [frame.clientWidth / 2, frame.clientHeight / 2];
    const before = stage.getBoundingClientRect();
    const share = [(at[0] + box.left - before.left) / before.width, (at[1] + box.top - before.top) / before.height];
    state.zoom = Math.min(8, Math.max(0.25, zoom));
    stage.style.width = `${(100 * state.zoom * facts.reach) / state.reach}%`;
    const after = stage.getBoundingClientRect();
    frame.scrollBy(after.left + share[0] * after.width - box.left - at[0], after.top + share[1] * after.height - box.top - at[1]);
    const slider = find('[data-view="zoom"]');
    if (slider) slider.value = state.zoom;
    rule();
  };
  const whole = () => { state.reach = facts.reach; zoomTo(1); };
  const sizes = {
    whole,
    // A millimetre of a style sheet is as true as the screen tells its size; the ruler shows it.
    true: () => zoomTo((96 / 25.4) * 2 * state.reach / frame.clientWidth),
  };
  all("[data-size]").forEach((button) => button.addEventListener("click", () => sizes[button.dataset.size]()));
  // As long a round number of mm as is well seen.
  const rule = () => {
    const pixels = stage.clientWidth / (2 * facts.reach);
    const long = [1, 2, 5, 10, 20, 50, 100, 200].findLast((mm) => mm * pixels <= 120) ?? 1;
    ruler.style.width = `${long * pixels}px`;
    ruler.textContent = `${long} mm`;
  };
  new ResizeObserver(rule).observe(stage);
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
  const tone = (at) => {
    facts.tones.forEach((tones, number) => main.style.setProperty(`--tone-${number + 1}`, tones[at]));
    main.style.setProperty("--stained", at === 0 ? "0" : "1");
  };
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
    const stops = opens ? pairs(button.dataset.at ?? "") : [];
    if (stops.length) rest();
    stops.forEach(([turn, stop]) => goTo(turn, stop));
    draw();
    if (spot || stops.length) frame.scrollIntoView({ block: "nearest" });
  }));

  find("[data-save]").addEventListener("click", (event) => {
    const stops = facts.turns.map((_, turn) => nearest(turn) + 1).join("-");
    const pieces = [...shadows, ...layers].filter((piece) => !piece.hasAttribute("data-absent"));
    savePicture(main, { pieces, reach: facts.reach, apart: state.apart > 0, name: event.target.dataset.save + (stops && `-stop-${stops}`) });
  });

  zoomTo(state.zoom);
  if (!kept) follow();
  show();
  // A page that is drawn anew listens through its newest picture alone.
  window.dialFollows?.abort();
  window.dialFollows = new AbortController();
  addEventListener("hashchange", follow, { signal: window.dialFollows.signal });
  return state;
};
for (const main of document.querySelectorAll("[data-viewer]")) window.dialViewer(main);
