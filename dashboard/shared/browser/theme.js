// Sets the theme before anything is drawn, so that nobody is dazzled by the wrong one.
document.documentElement.dataset.theme =
  localStorage.getItem("theme") ??
  (matchMedia("(prefers-contrast: more)").matches
    ? "sun"
    : matchMedia("(prefers-color-scheme: dark)").matches
      ? "dark"
      : "light");
