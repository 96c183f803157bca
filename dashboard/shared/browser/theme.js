// Sets the theme before anything is drawn, so that nobody is dazzled by the wrong one.
document.documentElement.dataset.theme =
  localStorage.getItem("theme") ??
  (matchMedia("(prefers-contrast: more)").matches
    ? "sun"
    : matchMedia("(prefers-color-scheme: dark)").matches
      ? "dark"
      : "light");

// Without a certificate that it trusts, a browser has no such helper, and tells of a rig out of reach in its own words.
if (window.isSecureContext) navigator.serviceWorker?.register("/service_worker.js").catch(() => {});
