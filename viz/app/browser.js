// What the browser keeps: how the page looks (for good), and its tanks (as long as the tab lives).
const LOOK = "holdwater.look";
const KEPT = "holdwater.tanks";
const BEEN = "holdwater.been";

function read(storage, key) {
  try {
    return JSON.parse(storage.getItem(key));
  } catch {
    return null;
  }
}

function write(storage, key, text) {
  try {
    storage.setItem(key, text);
  } catch {
    // A browser that keeps nothing (private, full) still shows the tank.
  }
}

export default {
  initialize({ model }) {
    let answered = false; // before that, Python holds its defaults, not what was chosen here
    model.on("change:look", () => {
      const look = model.get("look");
      if (!answered || !look || !look.shade) return;
      write(localStorage, LOOK, JSON.stringify(look));
      globalThis.holdwaterLook?.(look);
    });
    model.on("change:keep", () => {
      const text = model.get("keep");
      if (text) write(sessionStorage, KEPT, text);
    });
    model.on("change:been", () => {
      if (model.get("been")) write(localStorage, BEEN, "true");
    });
    const found = {
      look: read(localStorage, LOOK),
      kept: read(sessionStorage, KEPT),
      been: read(localStorage, BEEN) === true,
      at: Date.now(), // so that it differs from what a reconnected page may hold
    };
    answered = true;
    model.set("found", JSON.stringify(found));
    model.save_changes();
  },
};
