"""The app in the browser: one page that holds a living tank. `docs/app.md` is its guide."""
