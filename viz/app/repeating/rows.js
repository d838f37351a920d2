// One row per run across the days: a button each, so that keyboard and finger open a run alike.
const SVG = "http://www.w3.org/2000/svg";

function shape(kind, values) {
  const made = document.createElementNS(SVG, kind);
  for (const [key, value] of Object.entries(values)) made.setAttribute(key, value);
  return made;
}

function render({ model, el }) {
  el.classList.add("hw-runs");
  const list = document.createElement("ol");
  el.append(list);

  function draw() {
    const rows = model.get("rows");
    const days = model.get("days");
    const x = (day) => (1000 * Math.min(day, days)) / days;
    const focused = document.activeElement?.dataset?.run;
    list.replaceChildren(
      ...rows.map((row) => {
        const item = document.createElement("li");
        const button = document.createElement("button");
        button.type = "button";
        button.dataset.run = String(row.run);
        button.setAttribute("aria-label", row.words);
        button.title = row.words;
        const number = document.createElement("span");
        number.textContent = String(row.run);
        const svg = shape("svg", { viewBox: "0 0 1000 14", preserveAspectRatio: "none", "aria-hidden": "true" });
        svg.append(shape("path", { d: "M0 7H1000", class: "hw-run-line" }));
        if (row.serious !== null) {
          const end = row.moved ?? row.death ?? days;
          const wide = Math.max(x(end) - x(row.serious), 7);
          svg.append(shape("rect", { x: x(row.serious), y: 2, width: wide, height: 10, class: "hw-run-serious" }));
        }
        if (row.hurt !== null) svg.append(shape("path", { d: `M${x(row.hurt)} 1V13`, class: "hw-run-hurt" }));
        if (row.moved !== null) {
          const at = x(row.moved);
          svg.append(shape("path", { d: `M${at - 5} 0L${at} 8L${at + 5} 0Z`, class: "hw-run-moved" }));
        }
        if (row.death !== null) {
          const at = Math.min(x(row.death), 994);
          svg.append(shape("path", { d: `M${at - 5} 2L${at + 5} 12M${at + 5} 2L${at - 5} 12`, class: "hw-run-dead" }));
        }
        button.append(number, svg);
        button.addEventListener("click", () => model.send({ what: "run", run: row.run }));
        item.append(button);
        return item;
      }),
    );
    if (focused) list.querySelector(`[data-run="${focused}"]`)?.focus();
  }

  model.on("change:rows", draw);
  draw();
}

export default { render };
