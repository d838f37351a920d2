// Before the first paint: how the page looks, as this browser has kept it. Sets the colours of
// Solara's own parts, too.
vuetifyThemes = {
  light: {
    dark: false,
    colors: {
      background: "#f1ece1", surface: "#fbf9f4", primary: "#2a6076", secondary: "#5b6a71",
      error: "#8f3b2a", info: "#2a6076", success: "#2a6076", warning: "#8a6420",
    },
  },
  dark: {
    dark: true,
    colors: {
      background: "#0e1c23", surface: "#152a34", primary: "#7fb6cd", secondary: "#9aa9b0",
      error: "#e59a86", info: "#7fb6cd", success: "#7fb6cd", warning: "#d9b877",
    },
  },
};

// anywidget gives a part of the page two seconds to be ready, and leaves its place empty for good
// after them: on a busy machine there would be no tank.
(() => {
  const LEAST_MS = 120_000;
  const timeout = AbortSignal.timeout.bind(AbortSignal);
  AbortSignal.timeout = (ms) => timeout(Math.max(ms, LEAST_MS));
})();

(() => {
  const page = document.documentElement;
  const device = matchMedia("(prefers-color-scheme: dark)");
  let look = {};
  try {
    look = JSON.parse(localStorage.getItem("holdwater.look")) ?? {};
    localStorage.removeItem(":solara:theme.variant");
  } catch {
    // nothing kept
  }

  function isDark() {
    return look.shade === "dark" || (look.shade !== "light" && device.matches);
  }

  function show() {
    page.dataset.shade = isDark() ? "dark" : "light";
    page.dataset.type = look.large ? "large" : "usual";
    page.dataset.gentle = look.gentle ? "yes" : "no";
    theme.variant = page.dataset.shade;
    const global = globalThis.app?.$vuetify?.theme?.global;
    if (global && global.name && typeof global.name === "object") {
      global.name.value = page.dataset.shade;
    } else if (global) {
      global.name = page.dataset.shade;
    }
    page.dispatchEvent(new CustomEvent("holdwater-look", { detail: { ...page.dataset } }));
  }

  // The page's own half calls it when something is chosen; the floor listens to the event.
  globalThis.holdwaterLook = (chosen) => {
    look = chosen;
    show();
  };
  device.addEventListener("change", show);
  show();
})();

// Another page begins at its top, where the tank stands; and the menu of the display closes on
// Escape, on a press elsewhere, and with the page.
(() => {
  const menus = () => document.querySelectorAll("details.hw-menu[open]");
  new MutationObserver(() => {
    scrollTo({ top: 0, behavior: "instant" });
    for (const menu of menus()) menu.open = false;
  }).observe(document.documentElement, { subtree: true, attributeFilter: ["aria-current"] });
  document.addEventListener("pointerdown", (event) => {
    for (const menu of menus()) if (!menu.contains(event.target)) menu.open = false;
  });
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    for (const menu of menus()) {
      if (menu.contains(document.activeElement)) menu.querySelector("summary").focus();
      menu.open = false;
    }
  });
})();
