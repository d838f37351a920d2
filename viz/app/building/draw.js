// What stands on the floor, drawn as SVG from plain values in metres. No events here.
const SVG = "http://www.w3.org/2000/svg";

function node(kind, values = {}, children = []) {
  const made = document.createElementNS(SVG, kind);
  for (const [key, value] of Object.entries(values)) {
    if (value !== null && value !== undefined && value !== false) made.setAttribute(key, value);
  }
  for (const child of children) if (child) made.append(child);
  return made;
}

function words(text, values) {
  const made = node("text", values);
  made.textContent = text; // never as markup: names come from files
  return made;
}

// A number that hangs on a name alone, so that a stone looks the same each time it is drawn.
function dice(name) {
  let seed = 2166136261;
  for (const letter of name) seed = Math.imul(seed ^ letter.codePointAt(0), 16777619);
  return () => {
    seed = Math.imul(seed ^ (seed >>> 15), 2246822507) ^ Math.imul(seed ^ (seed >>> 13), 3266489909);
    seed = (seed ^ (seed >>> 16)) >>> 0;
    return seed / 4294967296;
  };
}

// From metres to the screen. Lying, the front glass is below; upright (on a phone) the left glass
// is above: the lying picture turned by a quarter.
// `measure`: the length and width that are to fit in, where two tanks are drawn to one scale.
function mapping(tank, width, height, margin, measure = null) {
  const upright = height > width;
  const [across, along] = upright ? [width, height] : [height, width];
  const [most, broadest] = measure ?? [tank.length, tank.width];
  const scale = Math.max(
    1,
    Math.min((along - 2 * margin) / most, (across - 2 * margin) / broadest),
  );
  const left = (width - scale * (upright ? tank.width : tank.length)) / 2;
  const top = (height - scale * (upright ? tank.length : tank.width)) / 2;
  return {
    upright,
    scale,
    left,
    top,
    to: (x, y) =>
      upright
        ? [left + y * scale, top + x * scale]
        : [left + x * scale, top + (tank.width - y) * scale],
    from: (px, py) =>
      upright
        ? [(py - top) / scale, (px - left) / scale]
        : [(px - left) / scale, tank.width - (py - top) / scale],
    // The angle on the screen, clockwise, of a turn in the tank, counter-clockwise.
    angle: (turn) => (upright ? Math.PI / 2 - turn : -turn),
    step: (dx, dy) => (upright ? [dy, dx] : [dx, -dy]),
  };
}

function path(points, map, close = true) {
  const drawn = points.map(([x, y]) => map.to(x, y).map((v) => v.toFixed(1)).join(" "));
  return `M${drawn.join("L")}${close ? "Z" : ""}`;
}

// A line round the corners themselves, each a little worn.
function worn(points, map, share = 0.3) {
  const xy = points.map(([x, y]) => map.to(x, y));
  const on = (a, b, part) => [a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part];
  const text = (p) => p.map((v) => v.toFixed(1)).join(" ");
  const n = xy.length;
  let drawn = `M${text(on(xy[n - 1], xy[0], 1 - share))}`;
  for (let k = 0; k < n; k += 1) {
    const [before, corner, after] = [xy[k], xy[k], xy[(k + 1) % n]];
    drawn += `Q${text(before)} ${text(on(corner, after, share))}`;
    drawn += `L${text(on(corner, after, 1 - share))}`;
  }
  return `${drawn}Z`;
}

function shrunk(points, share, dx = 0, dy = 0) {
  const cx = points.reduce((sum, p) => sum + p[0], 0) / points.length;
  const cy = points.reduce((sum, p) => sum + p[1], 0) / points.length;
  return points.map(([x, y]) => [cx + (x - cx) * share + dx, cy + (y - cy) * share + dy]);
}

const ROUND = new Set(["rock", "wood", "plant"]);

function drawPiece(piece, map) {
  const made = node("g", { class: `hwb-body hwb-${piece.group} hwb-kind-${piece.kind}` });
  const random = dice(piece.name);
  const outline = piece.outline;
  const line = (points) => (ROUND.has(piece.group) ? worn(points, map) : path(points, map));
  if (piece.group === "plant") return drawPlant(piece, map, made, random);
  const raised = piece.group === "slate" ? 0.006 : 0.012;
  const shadow = outline.map(([x, y]) => [x + raised * 0.8, y - raised]);
  made.append(node("path", { d: line(shadow), class: "hwb-shadow" }));
  made.append(node("path", { d: line(outline), class: "hwb-fill" }));
  if (piece.kind === "rock-wall") {
    drawRow(piece, map, made, random);
  } else if (piece.group === "rock") {
    made.append(node("path", { d: line(shrunk(outline, 0.72, -0.004, 0.005)), class: "hwb-light" }));
    for (let k = 0; k < 3; k += 1) {
      const a = outline[Math.floor(random() * outline.length)];
      const b = shrunk(outline, 0.25 + 0.3 * random())[Math.floor(random() * outline.length)];
      made.append(node("path", { d: path([a, b], map, false), class: "hwb-vein" }));
    }
  } else if (piece.group === "wood") {
    for (const share of [0.78, 0.55, 0.32]) {
      made.append(node("path", { d: line(shrunk(outline, share)), class: "hwb-vein" }));
    }
  } else if (piece.group === "slate") {
    for (const share of [0.86, 0.62]) {
      made.append(node("path", { d: path(shrunk(outline, share), map), class: "hwb-vein" }));
    }
  } else if (piece.room) {
    made.append(node("path", { d: path(piece.room, map), class: "hwb-room" }));
  }
  for (const door of piece.doors) made.append(drawDoor(door, piece, map));
  return made;
}

// A row of stones set on edge fills the outline it stands for.
function drawRow(piece, map, made, random) {
  const [a, b, c, d] = piece.outline;
  const along = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const number = Math.max(2, Math.round(along / 0.055));
  const mix = (p, q, part) => [p[0] + (q[0] - p[0]) * part, p[1] + (q[1] - p[1]) * part];
  let start = 0;
  for (let k = 0; k < number; k += 1) {
    const end = k === number - 1 ? 1 : (k + 1 + 0.35 * (random() - 0.5)) / number;
    const stone = [mix(a, b, start), mix(a, b, end), mix(d, c, end), mix(d, c, start)];
    made.append(node("path", { d: worn(stone, map, 0.35), class: "hwb-fill hwb-stone" }));
    made.append(node("path", { d: worn(shrunk(stone, 0.6, -0.002, 0.004), map, 0.4), class: "hwb-light" }));
    start = end;
  }
}

function drawDoor(door, piece, map) {
  const half = door.width / 2;
  const [dx, dy] = [-Math.sin(door.turn) * half, Math.cos(door.turn) * half];
  const [ox, oy] = [Math.cos(door.turn), Math.sin(door.turn)];
  const sheet = piece.group === "divider";
  const mouth = [
    [door.x + dx, door.y + dy],
    [door.x + dx * 0.8 + ox * 0.006, door.y + dy * 0.8 + oy * 0.006],
    [door.x - dx * 0.8 + ox * 0.006, door.y - dy * 0.8 + oy * 0.006],
    [door.x - dx, door.y - dy],
    [door.x - dx * 0.8 - ox * 0.028, door.y - dy * 0.8 - oy * 0.028],
    [door.x + dx * 0.8 - ox * 0.028, door.y + dy * 0.8 - oy * 0.028],
  ];
  return node("path", { d: path(mouth, map), class: sheet ? "hwb-gap" : "hwb-door" });
}

function drawPlant(piece, map, made, random) {
  const [cx, cy] = map.to(piece.x, piece.y);
  const reach = Math.max(...piece.outline.map(([x, y]) => Math.hypot(x - piece.x, y - piece.y)));
  made.append(node("path", { d: path(piece.outline, map), class: "hwb-bed" }));
  for (let k = 0; k < 22; k += 1) {
    const turn = k * 2.399963 + random() * 0.5;
    const far = reach * map.scale * (0.55 + 0.45 * random());
    const [tx, ty] = [cx + far * Math.cos(turn), cy + far * Math.sin(turn)];
    const bow = far * 0.28;
    const [sx, sy] = [bow * Math.sin(turn), -bow * Math.cos(turn)];
    const [mx, my] = [(cx + tx) / 2, (cy + ty) / 2];
    const leaf = `M${cx} ${cy}Q${mx + sx} ${my + sy} ${tx} ${ty}Q${mx - sx * 0.3} ${my - sy * 0.3} ${cx} ${cy}Z`;
    made.append(node("path", { d: leaf, class: k % 3 ? "hwb-leaf" : "hwb-leaf hwb-young" }));
  }
  return made;
}

// Half the width along a body seen from above, nose to tail root, as a share of its greatest.
const PROFILES = {
  deep: [0.1, 0.62, 0.92, 1, 0.94, 0.76, 0.5, 0.28, 0.18],
  disc: [0.1, 0.5, 0.85, 1, 0.95, 0.72, 0.44, 0.24, 0.15],
  elongate: [0.16, 0.66, 0.94, 1, 0.97, 0.88, 0.7, 0.46, 0.28],
  torpedo: [0.12, 0.6, 0.9, 1, 0.92, 0.74, 0.52, 0.32, 0.2],
  catfish: [0.4, 0.92, 1, 0.98, 0.86, 0.68, 0.5, 0.34, 0.22],
  loach: [0.3, 0.8, 0.96, 1, 0.98, 0.94, 0.84, 0.64, 0.4],
};

// One fish seen from above at rest, its nose to the right, its middle at 0.
function drawBody(shape, long, wide) {
  const profile = PROFILES[shape] || PROFILES.deep;
  const half = Math.max(wide / 2, long * 0.075);
  const n = profile.length;
  const at = (k, side, share = 1) => [
    long * (0.5 - (0.82 * k) / (n - 1)),
    side * half * profile[k] * share,
  ];
  const ring = (share) => {
    const points = [];
    for (let k = 0; k < n; k += 1) points.push(at(k, -1, share));
    for (let k = n - 1; k >= 0; k -= 1) points.push(at(k, 1, share));
    return worn(points, { to: (x, y) => [x, y] }, 0.5);
  };
  const fin = (side) => {
    const [x, y] = at(2, side, 0.86);
    return (
      `M${x + long * 0.03} ${y}Q${x - long * 0.02} ${y + side * half * 0.9} ${x - long * 0.13} ${y + side * half * 0.75}` +
      `Q${x - long * 0.07} ${y + side * half * 0.1} ${x - long * 0.05} ${y}Z`
    );
  };
  const [root, spread] = [-0.32 * long, half * 0.78];
  const tail =
    `M${root} ${-half * 0.16}Q${-0.42 * long} ${-spread * 0.5} ${-0.5 * long} ${-spread}` +
    `Q${-0.45 * long} 0 ${-0.5 * long} ${spread}Q${-0.42 * long} ${spread * 0.5} ${root} ${half * 0.16}Z`;
  const eye = (side) =>
    node("circle", {
      cx: 0.41 * long,
      cy: side * half * 0.42,
      r: Math.max(0.9, long * 0.022),
      class: "hwb-fish-eye",
    });
  return [
    node("path", { d: fin(-1) + fin(1) + tail, class: "hwb-fin" }),
    node("path", { d: ring(1), class: "hwb-fish" }),
    node("path", { d: ring(0.5), class: "hwb-back" }),
    eye(-1),
    eye(1),
  ];
}

function drawFish(fish, map) {
  const made = node("g", { class: `hwb-body hwb-company hwb-colour-${fish.colour}` });
  const random = dice(fish.name);
  const long = Math.max(fish.length * map.scale, 12);
  const wide = fish.width * map.scale;
  const spread = Math.max(long * 0.75, 10);
  const first = random() * 6.28;
  for (let k = 0; k < fish.drawn; k += 1) {
    const ring = fish.drawn === 1 ? 0 : spread * Math.sqrt(k / fish.drawn) * 1.25;
    const turn = first + k * 2.399963;
    const heading = ((first * 57.3 + 30 * (random() - 0.5)) % 360).toFixed(0);
    const at = `translate(${(ring * Math.cos(turn)).toFixed(1)} ${(ring * Math.sin(turn)).toFixed(1)})`;
    const one = node("g", { transform: `${at} rotate(${heading})` });
    one.append(...drawBody(fish.shape, long, wide));
    made.append(one);
  }
  made.dataset.reach = String(fish.drawn === 1 ? long / 2 : spread * 1.25 + long / 2);
  return made;
}

function drawOver(over, map) {
  const made = node("g", { class: "hwb-over", "aria-hidden": "true" });
  if (over.sight) made.append(node("path", { d: path(over.sight, map), class: "hwb-sight" }));
  for (const band of over.bands) {
    const lines = band.lines.filter((line) => line.length > 1);
    for (const line of lines) {
      made.append(node("path", { d: path(line, map, false), class: "hwb-band" }));
    }
    const long = lines.reduce((a, b) => (a.length > b.length ? a : b), []);
    if (long.length) {
      const [x, y] = map.to(...long[Math.floor(long.length / 2)]);
      made.append(words(band.words, { x, y, class: "hwb-band-words" }));
    }
  }
  for (const nest of over.nests) {
    const [x, y] = map.to(...nest.at);
    const r = 7 + 20 * Math.sqrt(nest.share);
    made.append(node("circle", { cx: x, cy: y, r, class: "hwb-nest" }));
    made.append(words(String(nest.draws), { x, y: y + 4, class: "hwb-nest-words" }));
  }
  if (over.at) {
    const [x, y] = map.to(...over.at);
    const eye = `M${x - 11} ${y}Q${x} ${y - 9} ${x + 11} ${y}Q${x} ${y + 9} ${x - 11} ${y}Z`;
    made.append(node("path", { d: eye, class: "hwb-eye" }));
    made.append(node("circle", { cx: x, cy: y, r: 3.2, class: "hwb-pupil" }));
  }
  return made;
}

function drawGround(tank, map, id) {
  const [x0, y0] = map.to(0, tank.width);
  const [x1, y1] = map.to(tank.length, 0);
  const box = {
    x: Math.min(x0, x1),
    y: Math.min(y0, y1),
    width: Math.abs(x1 - x0),
    height: Math.abs(y1 - y0),
  };
  const random = dice(`ground ${tank.substrate}`);
  const grains = [];
  const [size, count] = { sand: [0.9, 46], gravel: [3.1, 30], bare: [0, 0] }[tank.substrate];
  for (let k = 0; k < count; k += 1) {
    const values = { cx: random() * 90, cy: random() * 90, r: size * (0.5 + random()) };
    grains.push(node("circle", { ...values, class: k % 2 ? "hwb-grain" : "hwb-grain hwb-pale" }));
  }
  const pattern = { id: `${id}-ground`, width: 90, height: 90, patternUnits: "userSpaceOnUse" };
  const depth = { id: `${id}-depth`, x1: 0, y1: 1, x2: map.upright ? 1 : 0, y2: map.upright ? 1 : 0 };
  const made = node("g", { class: `hwb-ground hwb-${tank.substrate}`, "aria-hidden": "true" }, [
    node("defs", {}, [
      node("pattern", pattern, [
        node("rect", { width: 90, height: 90, class: "hwb-sand" }),
        ...grains,
      ]),
      node("linearGradient", depth, [
        node("stop", { offset: 0, class: "hwb-near" }),
        node("stop", { offset: 1, class: "hwb-far" }),
      ]),
    ]),
    node("rect", { ...box, rx: 3, fill: `url(#${id}-ground)` }),
    node("rect", { ...box, rx: 3, fill: `url(#${id}-depth)` }),
  ]);
  const foot = 0.3048;
  for (let x = foot; x < tank.length - 0.01; x += foot) {
    made.append(node("path", { d: path([[x, 0], [x, 0.012]], map, false), class: "hwb-tick" }));
  }
  for (let y = foot; y < tank.width - 0.01; y += foot) {
    made.append(node("path", { d: path([[0, y], [0.012, y]], map, false), class: "hwb-tick" }));
  }
  made.append(node("rect", { ...box, rx: 3, class: "hwb-glass" }));
  return made;
}
