// Fish from above, drawn on a canvas: a tapered body that bends, fins, and a number. No state here.
const COLOURS = [
  { back: "#d9c79c", belly: "#f3e8cc", band: "#3a3226" },
  { back: "#a9502f", belly: "#d0815c", band: "#5a2413" },
  { back: "#4d6874", belly: "#86a1ab", band: "#1f2f36" },
  { back: "#7ba08d", belly: "#b4cfc0", band: "#33493f" },
  { back: "#b88a30", belly: "#e0bd6c", band: "#5c4110" },
  { back: "#6f5f7c", belly: "#a797b3", band: "#352a40" },
];

// Half the width along the body, nose to tail root, as a share of its greatest.
const BODIES = {
  deep: [0.1, 0.62, 0.92, 1, 0.94, 0.76, 0.5, 0.28, 0.18],
  disc: [0.1, 0.5, 0.85, 1, 0.95, 0.72, 0.44, 0.24, 0.15],
  elongate: [0.16, 0.66, 0.94, 1, 0.97, 0.88, 0.7, 0.46, 0.28],
  torpedo: [0.12, 0.6, 0.9, 1, 0.92, 0.74, 0.52, 0.32, 0.2],
  catfish: [0.4, 0.92, 1, 0.98, 0.86, 0.68, 0.5, 0.34, 0.22],
  loach: [0.3, 0.8, 0.96, 1, 0.98, 0.94, 0.84, 0.64, 0.4],
};
const BANDED = new Set(["deep", "disc", "elongate"]);

// A fish with its middle at 0, nose to +x. `beat` is the phase of its tail, `bend` how far it swings.
function drawFishBody(g, look, long, { beat, bend, fins, ragged, fade }) {
  const body = BODIES[look.shape] || BODIES.deep;
  const colour = COLOURS[look.colour % COLOURS.length];
  const half = Math.max(long * look.wide * 0.5, long * 0.075);
  const n = body.length;
  const xs = [];
  const ys = [];
  for (let k = 0; k < n; k += 1) {
    const s = k / (n - 1);
    xs.push(long * (0.5 - 0.82 * s));
    ys.push(bend * long * s * s * Math.sin(beat - 2.4 * s));
  }
  const tailX = -0.5 * long;
  const tailY = bend * 1.5 * long * Math.sin(beat - 2.9);
  const rootX = xs[n - 1];
  const rootY = ys[n - 1];
  g.globalAlpha = fade;

  // Pectoral fins.
  g.fillStyle = colour.belly;
  for (const side of [-1, 1]) {
    const x = xs[2];
    const y = ys[2] + side * half * 0.86;
    const open = fins * (0.85 + 0.15 * Math.sin(beat * 0.9 + side));
    g.globalAlpha = fade * 0.62;
    g.beginPath();
    g.moveTo(x + long * 0.03, y);
    g.quadraticCurveTo(x - long * 0.02, y + side * half * 0.95 * open, x - long * 0.13, y + side * half * 0.8 * open);
    g.quadraticCurveTo(x - long * 0.07, y + side * half * 0.1, x - long * 0.05, y);
    g.closePath();
    g.fill();
  }

  // Tail: torn where the fish is hurt.
  g.globalAlpha = fade * 0.78;
  g.beginPath();
  g.moveTo(rootX, rootY - half * 0.16);
  const spread = half * 0.78;
  if (ragged) {
    const steps = 5;
    for (let k = 0; k <= steps; k += 1) {
      const part = k / steps;
      const cut = k % 2 ? 0.55 : 1;
      g.lineTo(rootX + (tailX - rootX) * cut, tailY - spread + 2 * spread * part);
    }
  } else {
    g.quadraticCurveTo((rootX + tailX) / 2, tailY - spread * 0.5, tailX, tailY - spread);
    g.quadraticCurveTo(tailX + long * 0.05, tailY, tailX, tailY + spread);
    g.quadraticCurveTo((rootX + tailX) / 2, tailY + spread * 0.5, rootX, rootY + half * 0.16);
  }
  g.closePath();
  g.fill();

  // Body.
  g.globalAlpha = fade;
  const outline = new Path2D();
  outline.moveTo(xs[0], ys[0]);
  const left = (k) => [xs[k], ys[k] - half * body[k]];
  const right = (k) => [xs[k], ys[k] + half * body[k]];
  const through = (at, from, to, step) => {
    for (let k = from; k !== to; k += step) {
      const [x, y] = at(k);
      const next = k + step;
      const [nx, ny] = next === to ? [x, y] : at(next);
      outline.quadraticCurveTo(x, y, (x + nx) / 2, (y + ny) / 2);
    }
  };
  through(left, 0, n, 1);
  outline.lineTo(...right(n - 1));
  through(right, n - 1, -1, -1);
  outline.closePath();
  const shade = g.createLinearGradient(0, -half, 0, half);
  shade.addColorStop(0, colour.belly);
  shade.addColorStop(0.5, colour.back);
  shade.addColorStop(1, colour.belly);
  g.fillStyle = shade;
  g.fill(outline);

  if (BANDED.has(look.shape)) {
    g.save();
    g.clip(outline);
    g.globalAlpha = fade * 0.32;
    g.strokeStyle = colour.band;
    g.lineWidth = long * 0.035;
    for (let k = 2; k < n - 1; k += 1) {
      g.beginPath();
      g.moveTo(xs[k], ys[k] - half);
      g.lineTo(xs[k] - long * 0.02, ys[k] + half);
      g.stroke();
    }
    g.restore();
  }
  // The dorsal fin is a line along the back.
  g.globalAlpha = fade * 0.5;
  g.strokeStyle = colour.band;
  g.lineWidth = Math.max(0.8, long * 0.018);
  g.lineCap = "round";
  g.beginPath();
  g.moveTo(xs[2], ys[2]);
  for (let k = 3; k < n; k += 1) g.lineTo(xs[k], ys[k]);
  g.stroke();

  // Eyes.
  g.globalAlpha = fade;
  g.fillStyle = "#10181c";
  const eye = Math.max(0.9, long * 0.022);
  for (const side of [-1, 1]) {
    g.beginPath();
    g.arc(xs[0] - long * 0.09, ys[0] + side * half * 0.42, eye, 0, 7);
    g.fill();
  }
  g.globalAlpha = fade * 0.75;
  g.strokeStyle = "#10181c";
  g.lineWidth = 0.8;
  g.stroke(outline);
  g.globalAlpha = 1;
}
