// Motion between the frames: the browser shows the tank a frame and a half behind, and fills in.
const KEEP = 14;
const BEHIND_MS = 150;

function makeMotion() {
  const frames = []; // {at, data: Float32Array, info}
  let last = null;

  function take(info, data, now) {
    const before = frames[frames.length - 1];
    // A skip in time is a cut: nothing swims from one side of it to the other.
    if (before && (info.number < before.info.number || Math.abs(info.day - before.info.day) > 0.01)) {
      frames.length = 0;
    }
    let at = now;
    if (before && frames.length) at = Math.max(now, before.at + 20);
    frames.push({ at, data, info });
    if (frames.length > KEEP) frames.shift();
    last = info;
  }

  const spline = (a, b, c, d, t) =>
    0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t * t + (3 * b - a - 3 * c + d) * t * t * t);

  function turned(a, b, t) {
    let gap = (b - a) % (2 * Math.PI);
    if (gap > Math.PI) gap -= 2 * Math.PI;
    if (gap < -Math.PI) gap += 2 * Math.PI;
    return a + gap * t;
  }

  // Where every fish is at this moment of the screen: [{x, y, turn, speed}] in metres.
  function now(time, still) {
    if (!frames.length) return [];
    const shown = time - BEHIND_MS;
    let k = frames.length - 1;
    while (k > 0 && frames[k].at > shown) k -= 1;
    const b = frames[k];
    const c = frames[Math.min(k + 1, frames.length - 1)];
    const a = frames[Math.max(k - 1, 0)];
    const d = frames[Math.min(k + 2, frames.length - 1)];
    const span = c.at - b.at;
    const t = span > 0 && !still ? Math.min(Math.max((shown - b.at) / span, 0), 1) : 0;
    const out = [];
    for (let i = 0; i < b.data.length / 4; i += 1) {
      const at = (f, j) => f.data[4 * i + j];
      out.push({
        x: spline(at(a, 0), at(b, 0), at(c, 0), at(d, 0), t),
        y: spline(at(a, 1), at(b, 1), at(c, 1), at(d, 1), t),
        turn: turned(at(b, 2), at(c, 2), t),
        speed: at(b, 3) + (at(c, 3) - at(b, 3)) * t,
      });
    }
    return out;
  }

  return { take, now, info: () => last, count: () => frames.length };
}

// A fish turns at the glass with its nose at it, never through it: where its middle is drawn.
function inside(place, fish, tank) {
  const along = Math.abs(Math.cos(place.turn));
  const across = Math.abs(Math.sin(place.turn));
  const half = fish.long / 2;
  const wide = half * fish.wide;
  const within = (at, reach, room) => {
    const least = Math.min(reach, room / 2);
    return Math.min(Math.max(at, least), room - least);
  };
  return {
    ...place,
    x: within(place.x, half * along + wide * across, tank.length),
    y: within(place.y, half * across + wide * along, tank.width),
  };
}
