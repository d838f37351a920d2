// The hands on the tank: mouse, finger and keyboard. Where a thing may stand is decided in Python;
// what it refuses goes back to where it was, and the sentence stands beside it.
const KEYS =
  "The tank from above. Arrow keys move a piece or fish, r turns a piece, Delete takes it out.";
const MARGIN = 14;
const INCH = 0.0254;
const TURN = Math.PI / 12;
const TRY_MS = 110;
let count = 0;

function render({ model, el }) {
  const id = `hwb${(count += 1)}`;
  el.classList.add("hwb");
  const svg = node("svg", { class: "hwb-svg", role: "group", "aria-label": KEYS });
  const bubble = document.createElement("p");
  bubble.className = "hwb-bubble";
  bubble.hidden = true;
  const ghost = document.createElement("p");
  ghost.className = "hwb-ghost";
  ghost.hidden = true;
  el.append(svg, bubble, ghost);
  const layers = {};
  for (const name of ["ground", "under", "pieces", "fish", "over", "grip"]) {
    layers[name] = svg.appendChild(node("g"));
  }
  let scene = null;
  let map = null;
  let drag = null;
  let number = 0;
  let tried = 0;
  const shapes = new Map(); // "piece large pot" -> {group, drawn as, entry}
  const waiting = new Map(); // number of a drop -> what was dropped

  const key = (what, name) => `${what} ${name}`;
  const picked = () => scene.picked && shapes.get(key(scene.picked.what, scene.picked.name));
  const send = (message) => model.send(message);
  const near = (value, most) => Math.min(Math.max(value, 0), most);

  // --- drawing ------------------------------------------------------------------------------

  function draw() {
    scene = model.get("scene");
    const { width, height } = el.getBoundingClientRect();
    if (!scene?.tank || width < 20 || height < 20) return;
    map = mapping(scene.tank, width, height, MARGIN);
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    const base = JSON.stringify([scene.tank, width, height]);
    if (layers.ground.dataset.drawn !== base) {
      layers.ground.dataset.drawn = base;
      layers.ground.replaceChildren(drawGround(scene.tank, map, id));
      for (const shape of shapes.values()) shape.drawn = "";
    }
    const there = new Set();
    for (const piece of scene.pieces) there.add(place("piece", piece, layers.pieces, drawPiece));
    for (const fish of scene.fish) {
      if (fish.x !== null) there.add(place("fish", fish, layers.fish, drawFish));
    }
    for (const [name, shape] of shapes) {
      if (there.has(name)) continue;
      const held = document.activeElement === shape.group;
      const next = shape.group.nextElementSibling || shape.group.previousElementSibling;
      shape.group.remove();
      shapes.delete(name);
      if (held) next?.focus?.({ preventScroll: true }); // a keyboard is not thrown off the floor
    }
    layers.over.replaceChildren(drawOver(scene.over, map));
    grip();
  }

  function place(what, entry, layer, drawn) {
    const name = key(what, entry.name);
    let shape = shapes.get(name);
    if (!shape) {
      const group = node("g", { class: "hwb-thing", tabindex: 0, role: "button" });
      group.dataset.what = what;
      group.dataset.name = entry.name;
      layer.append(group);
      shape = { group, what, drawn: "" };
      shapes.set(name, shape);
      group.addEventListener("keydown", (event) => keys(event, name));
      group.addEventListener("click", (event) => {
        if (event.detail === 0) choose(name); // a screen reader's press
      });
      group.addEventListener("focus", () => {
        if (group.matches(":focus-visible")) say(shapes.get(name));
      });
      group.addEventListener("blur", () => say(null));
    }
    shape.entry = entry;
    const now = JSON.stringify(entry);
    const { group } = shape;
    if (shape.drawn !== now) {
      shape.drawn = now;
      const inside = [drawn(entry, map)];
      const [x, y] = map.to(entry.x, entry.y);
      if (what === "fish") inside[0].setAttribute("transform", `translate(${x} ${y})`);
      if (what === "fish" && entry.count > 1) {
        const reach = Number(inside[0].dataset.reach);
        inside.push(words(`x ${entry.count}`, { x: x + reach * 0.7, y: y - reach * 0.6, class: "hwb-count" }));
      }
      if (entry.mark) {
        inside.push(node("circle", { cx: x, cy: y, r: 9, class: `hwb-mark hwb-is-${entry.mark}` }));
        inside.push(words("!", { x, y: y + 4.5, class: `hwb-mark-words hwb-is-${entry.mark}` }));
      }
      group.replaceChildren(...inside);
      group.setAttribute("aria-label", entry.label);
      group.classList.toggle("hwb-later", Boolean(entry.later));
      group.classList.toggle("hwb-anywhere", Boolean(entry.anywhere));
      group.classList.toggle("hwb-wrong", entry.mark === "problem");
    }
    if (drag?.name !== name && ![...waiting.values()].some((one) => one.name === name)) {
      group.removeAttribute("transform");
      group.classList.remove("hwb-back-again");
    }
    const isPicked = scene.picked?.what === what && scene.picked?.name === entry.name;
    group.classList.toggle("hwb-picked", isPicked);
    group.setAttribute("aria-pressed", isPicked ? "true" : "false");
    return name;
  }

  function grip() {
    const shape = drag ? null : picked();
    if (!shape) {
      layers.grip.replaceChildren();
      return;
    }
    const box = shape.group.firstChild.getBBox();
    const [x, y] = map.to(shape.entry.x, shape.entry.y);
    const dots = [];
    if (shape.what === "piece") {
      const reach = Math.hypot(box.width, box.height) / 2 + 18;
      const angle = map.angle(shape.entry.turn);
      const [gx, gy] = [x + reach * Math.cos(angle), y + reach * Math.sin(angle)];
      dots.push(node("path", { d: `M${x} ${y}L${gx} ${gy}`, class: "hwb-stalk" }));
      const handle = node("g", { class: "hwb-turn" }, [
        node("circle", { cx: gx, cy: gy, r: 22, class: "hwb-turn-room" }),
        node("circle", { cx: gx, cy: gy, r: 9, class: "hwb-turn-dot" }),
      ]);
      handle.dataset.turns = shape.entry.name;
      dots.push(handle);
    }
    const low = Math.min(y + box.height / 2 + 15, el.clientHeight - 5);
    dots.push(words(shape.entry.name, { x, y: low, class: "hwb-name" }));
    layers.grip.replaceChildren(...dots);
  }

  function say(shape, sentence = "") {
    const said = sentence || (shape ? shape.entry.says || "" : "");
    bubble.hidden = !said;
    if (!said || !shape) {
      bubble.hidden = true;
      return;
    }
    bubble.textContent = said;
    const box = shape.group.getBoundingClientRect();
    const room = el.getBoundingClientRect();
    const middle = (box.left + box.right) / 2 - room.left;
    const wide = Math.min(340, room.width - 16);
    bubble.style.maxWidth = `${wide}px`;
    bubble.style.left = `${near(Math.max(middle - wide / 2, 8), room.width - wide - 8)}px`;
    const high = bubble.offsetHeight;
    const under = box.bottom - room.top + 10;
    const over = box.top - room.top - high - 10;
    bubble.style.top = `${under + high < room.height || over < 0 ? Math.min(under, room.height - high - 4) : over}px`;
  }

  // --- pointer ------------------------------------------------------------------------------

  function at(event) {
    const box = el.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  }

  svg.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || !map || drag) return;
    const [px, py] = at(event);
    const turns = event.target.closest?.("[data-turns]");
    const thing = event.target.closest?.(".hwb-thing");
    if (!turns && !thing) {
      const [x, y] = map.from(px, py);
      if (scene.picked) send({ kind: "pick", what: "", name: "" });
      if (scene.over.overlay === "sight" || scene.over.overlay === "swim") {
        send({ kind: "look", x: near(x, scene.tank.length), y: near(y, scene.tank.width) });
      }
      return;
    }
    event.preventDefault();
    const name = turns ? key("piece", turns.dataset.turns) : key(thing.dataset.what, thing.dataset.name);
    const shape = shapes.get(name);
    if (!shape) return;
    const { entry } = shape;
    if (thing) thing.focus({ preventScroll: true });
    drag = { name, turns: Boolean(turns), from: [px, py], moved: false, x: entry.x, y: entry.y, by: 0 };
    svg.setPointerCapture(event.pointerId);
    shape.group.classList.remove("hwb-back-again");
    if (shape.what === "piece") layers.pieces.append(shape.group);
    if (!turns) choose(name);
  });

  svg.addEventListener("pointermove", (event) => {
    if (!drag) return;
    const shape = shapes.get(drag.name);
    if (!shape) return;
    const [px, py] = at(event);
    if (!drag.moved && Math.hypot(px - drag.from[0], py - drag.from[1]) < 4) return;
    if (!drag.moved) {
      drag.moved = true;
      shape.group.classList.add("hwb-held");
      grip();
    }
    const { entry } = shape;
    const [sx, sy] = map.to(entry.x, entry.y);
    if (drag.turns) {
      const now = Math.atan2(py - sy, px - sx) - map.angle(entry.turn);
      const step = event.shiftKey ? Math.PI / 180 : TURN;
      const clockwise = Math.round(now / step) * step;
      drag.by = -clockwise;
      shape.group.setAttribute("transform", `rotate(${(clockwise * 180) / Math.PI} ${sx} ${sy})`);
    } else {
      const [dx, dy] = [px - drag.from[0], py - drag.from[1]];
      [drag.x, drag.y] = map.from(sx + dx, sy + dy);
      shape.group.setAttribute("transform", `translate(${dx} ${dy})`);
    }
    const time = performance.now();
    if (time - tried > TRY_MS) {
      tried = time;
      number += 1;
      drag.tries = number;
      send({ ...dropped(shape), kind: "try", n: number });
    }
  });

  function dropped(shape) {
    const { entry } = shape;
    const turn = shape.what === "piece" ? entry.turn + drag.by : 0;
    const x = Math.min(Math.max(drag.x, -0.5), scene.tank.length + 0.5);
    const y = Math.min(Math.max(drag.y, -0.5), scene.tank.width + 0.5);
    return { what: shape.what, name: entry.name, x, y, turn };
  }

  function letGo(event, keep) {
    if (!drag) return;
    const shape = shapes.get(drag.name);
    const ended = drag;
    if (shape && ended.moved && keep) {
      number += 1;
      waiting.set(number, { name: ended.name });
      send({ ...dropped(shape), kind: "drop", n: number });
    }
    drag = null;
    if (shape) {
      shape.group.classList.remove("hwb-held", "hwb-would-not");
      if (ended.moved && !keep) goBack(shape);
    }
    if (ended.moved) {
      say(null);
    } else {
      say(shape);
      setTimeout(bringUp, 150);
    }
    grip();
  }

  // What is in hand stands beside the floor on a wide screen, and somewhere below on a small one.
  function bringUp() {
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    const panel = document.querySelector(".hw-picked");
    panel?.scrollIntoView({ block: "nearest", behavior: still ? "instant" : "smooth" });
  }
  svg.addEventListener("pointerup", (event) => letGo(event, true));
  svg.addEventListener("pointercancel", (event) => letGo(event, false));

  function goBack(shape) {
    shape.group.classList.add("hwb-back-again");
    shape.group.setAttribute("transform", "translate(0 0)");
  }

  function choose(name) {
    const { what, entry } = shapes.get(name);
    if (scene.picked?.what !== what || scene.picked?.name !== entry.name) {
      send({ kind: "pick", what, name: entry.name });
    }
  }

  // --- keyboard -----------------------------------------------------------------------------

  const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

  function keys(event, name) {
    const shape = shapes.get(name);
    if (!shape || event.ctrlKey || event.metaKey || event.altKey) return;
    const { entry, what } = shape;
    if (event.key in ARROWS) {
      const far = event.shiftKey ? INCH / 4 : INCH;
      const [dx, dy] = map.step(...ARROWS[event.key]);
      number += 1;
      waiting.set(number, { name });
      const [x, y] = [entry.x + dx * far, entry.y + dy * far];
      send({ kind: "drop", what, name: entry.name, x, y, turn: entry.turn || 0, n: number, keys: true });
    } else if ((event.key === "r" || event.key === "R") && what === "piece") {
      number += 1;
      waiting.set(number, { name });
      const turn = entry.turn + (event.shiftKey ? TURN : -TURN);
      send({ kind: "drop", what, name: entry.name, x: entry.x, y: entry.y, turn, n: number, keys: true });
    } else if (event.key === "Delete" || event.key === "Backspace") {
      send({ kind: "remove", what, name: entry.name });
    } else if (event.key === "Enter" || event.key === " ") {
      choose(name);
    } else if (event.key === "Escape") {
      if (drag) letGo(event, false);
      send({ kind: "pick", what: "", name: "" });
    } else {
      return;
    }
    event.preventDefault();
    event.stopPropagation();
  }

  const typing = (target) => Boolean(target?.closest?.("input, textarea, select, [contenteditable]"));
  function history(event) {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || typing(event.target)) return;
    const letter = event.key.toLowerCase();
    if (letter !== "z" && letter !== "y") return;
    event.preventDefault();
    send({ kind: letter === "y" || event.shiftKey ? "redo" : "undo" });
  }
  document.addEventListener("keydown", history);

  // --- out of the drawer ------------------------------------------------------------------------

  let taken = null;
  function take(event) {
    const from = event.target.closest?.("[data-hw-piece]");
    if (!from || event.button !== 0 || event.pointerType === "touch" || !map) return;
    const [piece, size] = from.dataset.hwPiece.split("|");
    taken = { piece, size, title: from.dataset.hwTitle || piece, from: [event.clientX, event.clientY] };
  }
  function carry(event) {
    if (!taken) return;
    const far = Math.hypot(event.clientX - taken.from[0], event.clientY - taken.from[1]);
    if (!taken.moved && far < 8) return;
    taken.moved = true;
    event.preventDefault();
    ghost.hidden = false;
    ghost.textContent = taken.title;
    ghost.style.left = `${event.clientX + 10}px`;
    ghost.style.top = `${event.clientY + 10}px`;
  }
  function put(event) {
    if (!taken) return;
    const { piece, size, moved } = taken;
    taken = null;
    ghost.hidden = true;
    const [px, py] = at(event);
    const inside = px >= 0 && py >= 0 && px <= el.clientWidth && py <= el.clientHeight;
    if (!moved) return;
    document.addEventListener("click", swallow, { capture: true, once: true });
    setTimeout(() => document.removeEventListener("click", swallow, { capture: true }), 50);
    if (!inside) return;
    const [x, y] = map.from(px, py);
    number += 1;
    send({ kind: "put", piece, size, x: near(x, scene.tank.length), y: near(y, scene.tank.width), n: number });
  }
  const swallow = (event) => {
    event.stopPropagation();
    event.preventDefault();
  };
  document.addEventListener("pointerdown", take);
  document.addEventListener("pointermove", carry);
  document.addEventListener("pointerup", put);

  // --- answers ----------------------------------------------------------------------------------

  function answer(message) {
    if (message.kind === "tried") {
      if (!drag || drag.tries !== message.n) return;
      const shape = shapes.get(drag.name);
      shape?.group.classList.toggle("hwb-would-not", Boolean(message.sentence));
      say(shape, message.sentence || "");
      if (!message.sentence) bubble.hidden = true;
      return;
    }
    if (message.kind !== "answer") return;
    const one = waiting.get(message.n);
    waiting.delete(message.n);
    if (!one) return;
    const shape = shapes.get(one.name);
    if (!shape) return;
    el.dataset.answered = String(message.n);
    if (!message.ok) {
      goBack(shape);
      say(shape, message.sentence);
      setTimeout(() => !drag && !bubble.hidden && say(shape, message.sentence), 260);
    } else {
      setTimeout(draw, 250); // where nothing came of it, nothing else draws it back
    }
  }

  model.on("msg:custom", answer);
  model.on("change:scene", draw);
  const watcher = new ResizeObserver(() => draw());
  watcher.observe(el);
  draw();
  return () => {
    watcher.disconnect();
    model.off("msg:custom", answer);
    model.off("change:scene", draw);
    document.removeEventListener("keydown", history);
    document.removeEventListener("pointerdown", take);
    document.removeEventListener("pointermove", carry);
    document.removeEventListener("pointerup", put);
  };
}

export default { render };
