// The living tank: pieces stand still as SVG, fish swim on a canvas above them.
const EDGE = 14;
const HATCH = [0.6, -0.6, 1.57, 0, 1.1, -1.1];
const OWNERS = ["#e0a063", "#6fb1c7", "#c9b458", "#b58bc0", "#7fb58c", "#d98d86"];
const SPREAD_MS = 1100;
const TRACK_MS = 10000;
const END_MS = 2600;
const LEAST = 15; // px; no fish is drawn shorter
const BEHIND = 0.34; // how much of a fish in a hiding place is seen

function render({ model, el }) {
  el.classList.add("hwb", "hwf");
  const svg = node("svg", { class: "hwb-svg", "aria-hidden": "true" });
  const canvas = document.createElement("canvas");
  canvas.className = "hwf-canvas";
  canvas.setAttribute("role", "img");
  el.append(svg, canvas);
  const g = canvas.getContext("2d");
  const motion = makeMotion();
  const quiet = matchMedia("(prefers-reduced-motion: reduce)");
  const id = `hwf${Math.random().toString(36).slice(2, 8)}`;
  let map = null;
  let extent = ""; // of the floor on the screen: what was drawn in another is not where it was
  let scene = null;
  let ratio = 1;
  let places = [];
  let beats = [];
  let ends = [];
  let tracks = [];
  let grounds = new Map(); // holders -> {path, from, at, colour, middle, reach}
  let alive = true;
  let frame = 0;
  let before = performance.now();

  // --- what stands still ------------------------------------------------------------------------

  function still() {
    scene = model.get("scene");
    const { width, height } = el.getBoundingClientRect();
    if (!scene?.tank || width < 20 || height < 20) return;
    map = mapping(scene.tank, width, height, EDGE, scene.measure);
    extent = `${width} ${height} ${map.scale}`;
    ratio = Math.min(devicePixelRatio || 1, 2);
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
    canvas.style.width = `${width}px`;
    canvas.style.height = `${height}px`;
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    svg.replaceChildren(drawGround(scene.tank, map, id));
    for (const piece of scene.pieces) svg.append(drawPiece(piece, map));
    canvas.setAttribute(
      "aria-label",
      `${scene.fish.length} fish seen from above; what each does stands in the list of the fish`,
    );
    beats = scene.fish.map((_, i) => beats[i] ?? i * 1.7);
    tracks = scene.fish.map(() => []);
    regions();
  }

  // --- territories ------------------------------------------------------------------------------

  function pathOf(rings) {
    const drawn = new Path2D();
    for (const ring of rings) {
      ring.forEach(([x, y], k) => (k ? drawn.lineTo(...map.to(x, y)) : drawn.moveTo(...map.to(x, y))));
      drawn.closePath();
    }
    return drawn;
  }

  function regions() {
    if (!map) return;
    const found = new Map();
    const now = performance.now();
    for (const one of model.get("ground")) {
      const key = one.fish.join("+");
      const flat = one.rings.flat();
      if (!flat.length) continue;
      const home = one.home ? map.to(...one.home) : map.to(...flat[0]);
      const reach = Math.max(...flat.map(([x, y]) => Math.hypot(map.to(x, y)[0] - home[0], map.to(x, y)[1] - home[1])));
      const was = grounds.get(key);
      const moved = was && was.extent !== extent;
      const same = was && !moved && was.text === JSON.stringify(one.rings);
      found.set(key, same ? was : {
        text: JSON.stringify(one.rings),
        extent,
        path: pathOf(one.rings),
        old: moved ? null : (was?.path ?? null),
        from: was ? Math.min(was.reach, reach) : 0,
        at: now,
        home,
        reach,
        owner: one.fish[0],
        grew: !moved && (!was || reach > was.reach * 1.04),
      });
    }
    grounds = found;
  }

  function hatched(path, owner) {
    const colour = OWNERS[owner % OWNERS.length];
    g.save();
    g.clip(path, "evenodd");
    g.globalAlpha = 0.17;
    g.fillStyle = colour;
    g.fillRect(0, 0, canvas.width, canvas.height);
    g.globalAlpha = 0.5;
    g.strokeStyle = colour;
    g.lineWidth = 1;
    const turn = HATCH[owner % HATCH.length];
    const far = Math.hypot(canvas.width, canvas.height) / ratio;
    const gap = 9 + 2 * (owner % 3);
    g.rotate(turn);
    for (let y = -far; y < far; y += gap) {
      g.beginPath();
      g.moveTo(-far, y);
      g.lineTo(far * 2, y);
      g.stroke();
    }
    g.restore();
    g.globalAlpha = 0.9;
    g.strokeStyle = colour;
    g.lineWidth = 2;
    g.setLineDash(owner % 2 ? [7, 4] : []);
    g.stroke(path);
    g.setLineDash([]);
    g.globalAlpha = 1;
  }

  function drawGrounds(now) {
    for (const one of grounds.values()) {
      const part = quiet.matches || !one.grew ? 1 : Math.min(Math.max((now - one.at) / SPREAD_MS, 0), 1);
      if (part >= 1) {
        hatched(one.path, one.owner);
        continue;
      }
      if (one.old) hatched(one.old, one.owner);
      g.save();
      g.beginPath();
      const eased = 1 - (1 - part) ** 3;
      g.arc(...one.home, one.from + (one.reach - one.from) * eased + 2, 0, 7);
      g.clip();
      hatched(one.path, one.owner);
      g.restore();
    }
  }

  // --- fish -------------------------------------------------------------------------------------

  // Who is on the floor: in a gentle display without those that are said to be moved out.
  function seen(options) {
    const info = motion.info();
    if (!info || !options.gone?.length) return info;
    return { ...info, shown: info.shown.map((one, i) => (options.gone.includes(i) ? 0 : one)) };
  }

  function drawOne(i, place, info, now, dt, options) {
    const look = scene.fish[i];
    const shown = info.shown[i];
    if (!shown || !look) return;
    const [x, y] = map.to(place.x, place.y);
    const long = Math.max(look.length * map.scale, LEAST);
    const act = info.acts[i];
    const busy = act === 1 || act === 2;
    const swim = place.speed / Math.max(look.length, 0.02);
    const rate = Math.min(2.2 + 5.5 * swim, 26) * (info.speed > 0 ? 1 : 0.35);
    if (!quiet.matches) beats[i] += rate * dt;
    const bend = quiet.matches ? 0 : Math.min(0.035 + 0.02 * swim, 0.11);
    const high = info.layers[i];
    const hidden = shown === 2;
    const turn = map.angle(place.turn);
    if (options.tracks && !hidden) {
      const track = tracks[i];
      track.push([now, x, y]);
      while (track.length && now - track[0][0] > TRACK_MS) track.shift();
      g.strokeStyle = OWNERS[i % OWNERS.length];
      for (let k = 1; k < track.length; k += 1) {
        if (Math.hypot(track[k][1] - track[k - 1][1], track[k][2] - track[k - 1][2]) > 80) continue;
        g.globalAlpha = 0.55 * (1 - (now - track[k][0]) / TRACK_MS);
        g.lineWidth = 1.6;
        g.beginPath();
        g.moveTo(track[k - 1][1], track[k - 1][2]);
        g.lineTo(track[k][1], track[k][2]);
        g.stroke();
      }
      g.globalAlpha = 1;
    }
    if (!hidden) {
      // The higher it swims, the farther off its shadow falls.
      const off = 3 + 5 * high;
      g.save();
      g.translate(x + off * 0.6, y + off);
      g.rotate(turn);
      g.globalAlpha = 0.2 - 0.04 * high;
      g.fillStyle = "#000";
      g.beginPath();
      g.ellipse(0, 0, long * 0.42, long * look.wide * 0.5, 0, 0, 7);
      g.fill();
      g.restore();
    }
    if (model.get("picked") === i) {
      g.strokeStyle = getComputedStyle(el).getPropertyValue("--hw-accent") || "#e2935a";
      g.lineWidth = 2.5;
      g.beginPath();
      g.arc(x, y, long * 0.72, 0, 7);
      g.stroke();
    }
    g.save();
    g.translate(x, y);
    g.rotate(turn);
    drawFishBody(g, look, long, {
      beat: beats[i], bend, fins: busy ? 0.55 : 1, ragged: options.ragged.includes(i), fade: hidden ? BEHIND : 1,
    });
    g.restore();
    // Its number, upright, on its back.
    const size = Math.max(9, Math.min(long * 0.3, 13));
    g.font = `600 ${size}px system-ui, sans-serif`;
    g.textAlign = "center";
    g.textBaseline = "middle";
    g.lineWidth = 3;
    g.strokeStyle = "rgb(14 24 30 / 78%)";
    g.strokeText(look.number, x, y);
    g.fillStyle = "#fff8ea";
    g.fillText(look.number, x, y);
  }

  function drawChase(i, info) {
    const j = info.targets[i];
    const from = places[i];
    const to = places[j];
    if (!from || !to || !info.shown[i] || !info.shown[j]) return;
    const [ax, ay] = map.to(from.x, from.y);
    const [bx, by] = map.to(to.x, to.y);
    g.strokeStyle = "#f0b27e";
    g.lineCap = "round";
    if (info.acts[i] === 1) {
      g.globalAlpha = 0.8;
      g.lineWidth = 2;
      g.setLineDash([2, 6]);
      g.beginPath();
      g.moveTo(ax, ay);
      g.lineTo(bx, by);
      g.stroke();
      g.setLineDash([]);
    } else if (i < j) {
      g.globalAlpha = 0.85;
      g.lineWidth = 1.6;
      const [mx, my] = [(ax + bx) / 2, (ay + by) / 2];
      const wide = Math.max(Math.hypot(ax - bx, ay - by), 24) * 0.75;
      for (const grow of [0, 5]) {
        g.beginPath();
        g.arc(mx, my, wide + grow, 0, 7);
        g.stroke();
      }
    }
    g.globalAlpha = 1;
  }

  function drawEnds(now) {
    ends = ends.filter((one) => now - one.at < END_MS);
    g.font = "600 12px system-ui, sans-serif";
    g.textAlign = "center";
    for (const one of ends) {
      const part = (now - one.at) / END_MS;
      const [x, y] = map.to(one.x, one.y);
      g.globalAlpha = 1 - part ** 3;
      const lift = quiet.matches ? 18 : 18 + 14 * part;
      const side = Math.min(Math.max(x, 70), canvas.width / ratio - 70);
      const high = Math.max(y - lift, 14);
      g.lineWidth = 4;
      g.strokeStyle = "rgb(14 24 30 / 80%)";
      g.strokeText(one.words, side, high);
      g.fillStyle = "#ffe3c6";
      g.fillText(one.words, side, high);
    }
    g.globalAlpha = 1;
  }

  function drawMarks(options) {
    const sight = model.get("sight");
    if (options.sight && sight.length) {
      const seen = pathOf(sight);
      g.save();
      g.globalAlpha = 0.34;
      g.fillStyle = "#06141b";
      const all = pathOf([[[0, 0], [scene.tank.length, 0], [scene.tank.length, scene.tank.width], [0, scene.tank.width]]]);
      all.addPath(seen);
      g.fill(all, "evenodd");
      g.restore();
      g.strokeStyle = "#f3e6c4";
      g.globalAlpha = 0.7;
      g.lineWidth = 1.2;
      g.stroke(seen);
      g.globalAlpha = 1;
    }
    if (options.bites) {
      g.strokeStyle = "#b3341f";
      g.lineWidth = 2;
      for (const [bx, by] of model.get("bites")) {
        const [x, y] = map.to(bx, by);
        g.globalAlpha = 0.8;
        g.beginPath();
        g.moveTo(x - 4, y - 4);
        g.lineTo(x + 4, y + 4);
        g.moveTo(x + 4, y - 4);
        g.lineTo(x - 4, y + 4);
        g.stroke();
      }
      g.globalAlpha = 1;
    }
    for (const [fx, fy] of model.get("food")) {
      const [x, y] = map.to(fx, fy);
      g.fillStyle = "#e8c27a";
      for (let k = 0; k < 14; k += 1) {
        g.beginPath();
        g.arc(x + 16 * Math.cos(k * 2.4) * Math.sqrt(k / 14), y + 16 * Math.sin(k * 2.4) * Math.sqrt(k / 14), 1.7, 0, 7);
        g.fill();
      }
    }
  }

  // Eggs lie close, wrigglers stir on the spot, fry hang about in a cloud.
  function drawYoung(now) {
    for (const [nx, ny, stage, left] of model.get("nests")) {
      const [x, y] = map.to(nx, ny);
      const many = Math.max(Math.round(34 * left), 3);
      const wide = stage === 2 ? Math.max(0.055 * map.scale, 20) : Math.max(0.02 * map.scale, 10);
      const beat = quiet.matches ? 0 : now / 1000;
      g.fillStyle = stage === 2 ? "#2b2418" : "#ffd98c";
      g.strokeStyle = stage === 2 ? "rgb(255 240 205 / 85%)" : "rgb(70 36 8 / 90%)";
      g.lineWidth = 1;
      for (let k = 0; k < many; k += 1) {
        const far = wide * Math.sqrt((k + 0.5) / many);
        const stir = stage === 0 ? 0 : stage === 1 ? 1.2 * Math.sin(6 * beat + 1.7 * k) : 5 * Math.sin(0.8 * beat + 2.1 * k);
        const turn = 2.4 * k + (stage === 2 ? 0.25 * Math.sin(0.4 * beat + k) : 0);
        g.beginPath();
        g.arc(x + (far + stir) * Math.cos(turn), y + (far + stir) * Math.sin(turn), stage === 2 ? 1.6 : 2.1, 0, 7);
        g.fill();
        g.stroke();
      }
    }
  }

  function paint(now) {
    if (!alive) return;
    frame = requestAnimationFrame(paint);
    const dt = Math.min((now - before) / 1000, 0.1);
    before = now;
    (el.hwFrames ??= []).push(now);
    if (el.hwFrames.length > 600) el.hwFrames.shift();
    if (!map || document.hidden) return;
    g.setTransform(ratio, 0, 0, ratio, 0, 0);
    g.clearRect(0, 0, canvas.width, canvas.height);
    const options = model.get("options");
    if (options.territories) drawGrounds(now);
    drawMarks(options);
    drawYoung(now);
    const info = seen(options);
    if (!info) return;
    places = motion.now(now, false).map((place, i) => {
      const look = scene.fish[i];
      return look ? inside(place, { long: Math.max(look.length, LEAST / map.scale), wide: look.wide }, scene.tank) : place;
    });
    const order = places.map((_, i) => i).sort((a, b) => info.layers[a] - info.layers[b]);
    for (const i of order) if (info.shown[i] === 2) drawOne(i, places[i], info, now, dt, options);
    for (let i = 0; i < places.length; i += 1) {
      if ((info.acts[i] === 1 || info.acts[i] === 3) && info.targets[i] >= 0) drawChase(i, info);
    }
    for (const i of order) if (info.shown[i] === 1) drawOne(i, places[i], info, now, dt, options);
    drawEnds(now);
  }

  // --- from Python and from the hand ----------------------------------------------------------------

  function message(content, buffers) {
    if (content?.what !== "frame" || !buffers?.length) return;
    const view = buffers[0];
    const data = new Float32Array(view.buffer.slice(view.byteOffset, view.byteOffset + view.byteLength));
    motion.take(content, data, performance.now());
    el.dataset.frames = String(Number(el.dataset.frames || 0) + 1);
    el.dataset.day = content.day.toFixed(5);
    const gentle = model.get("options").gentle;
    for (const [x, y, said] of content.ends || []) {
      ends.push({ x, y, words: gentle ? said.replace(/^bitten[^,]*, /, "") : said, at: performance.now() });
    }
    if (ends.length > 6) ends = ends.slice(-6);
  }

  function nearest(event) {
    const box = canvas.getBoundingClientRect();
    const at = [event.clientX - box.left, event.clientY - box.top];
    const info = seen(model.get("options"));
    let best = -1;
    let least = 1;
    places.forEach((place, i) => {
      if (!info?.shown[i]) return;
      const look = scene.fish[i];
      const [x, y] = map.to(place.x, place.y);
      const turn = -map.angle(place.turn);
      const [dx, dy] = [at[0] - x, at[1] - y];
      const long = Math.max(look.length * map.scale, LEAST) * 0.5 + 8;
      const wide = Math.max(look.length * look.wide * map.scale, 8) * 0.5 + 10;
      const u = (dx * Math.cos(turn) - dy * Math.sin(turn)) / long;
      const v = (dx * Math.sin(turn) + dy * Math.cos(turn)) / wide;
      const far = u * u + v * v;
      if (far < least) {
        least = far;
        best = i;
      }
    });
    return best;
  }

  canvas.addEventListener("click", (event) => model.send({ what: "pick", fish: nearest(event) }));
  const beat = setInterval(() => !document.hidden && model.send({ what: "alive" }), 2000);
  const size = new ResizeObserver(still);
  size.observe(el);
  model.on("msg:custom", message);
  model.on("change:scene", still);
  model.on("change:ground", regions);
  el.hwWhere = (i) => {
    const box = canvas.getBoundingClientRect();
    const [x, y] = map.to(places[i].x, places[i].y);
    return [box.left + x, box.top + y];
  };
  still();
  frame = requestAnimationFrame(paint);
  model.send({ what: "ready" });
  return () => {
    alive = false;
    cancelAnimationFrame(frame);
    clearInterval(beat);
    size.disconnect();
    model.off("msg:custom", message);
  };
}

export default { render };
