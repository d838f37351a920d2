// The floor with the injuries on it: a disc for each block, its area the amount. Nothing moves.
const EDGE = 14;
const BIG = 0.62; // radius of the largest disc, in sides of a block
const LEAST = 0.7; // px: below it a disc is no more than a speck
const SMALL = 6; // px: below it a ring has no room for dashes

function render({ model, el }) {
  el.classList.add("hwb", "hwy");
  const svg = node("svg", { class: "hwb-svg", role: "img" });
  el.append(svg);
  const id = `hwy${Math.random().toString(36).slice(2, 8)}`;

  function draw() {
    const scene = model.get("scene");
    const { width, height } = el.getBoundingClientRect();
    if (!scene?.tank || width < 20 || height < 20) return;
    const map = mapping(scene.tank, width, height, EDGE);
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    svg.setAttribute("aria-label", model.get("label"));
    svg.replaceChildren(drawGround(scene.tank, map, id));
    for (const piece of scene.pieces) svg.append(drawPiece(piece, map));
    const most = model.get("most");
    const kind = model.get("gentle") ? "hwy-ring" : "hwy-disc";
    for (const spot of model.get("spots")) {
      const r = BIG * model.get("block") * map.scale * Math.sqrt(spot.dose / most);
      if (r < LEAST) continue;
      const [cx, cy] = map.to(spot.x, spot.y);
      const title = node("title");
      title.textContent = spot.words;
      const look = r < SMALL ? `${kind} hwy-small` : kind;
      svg.append(node("circle", { cx, cy, r, class: look }, [title]));
    }
  }

  const size = new ResizeObserver(draw);
  size.observe(el);
  const traits = ["scene", "spots", "most", "block", "label", "gentle"];
  for (const name of traits) model.on(`change:${name}`, draw);
  draw();
  return () => {
    size.disconnect();
    for (const name of traits) model.off(`change:${name}`, draw);
  };
}

export default { render };
