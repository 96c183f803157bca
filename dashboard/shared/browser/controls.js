// What a person touches that needs no server: choices, dialogs, copying a link. The rest is Dash's.

/** @typedef {Record<string, (value: string) => void>} Listeners */

const REMEMBERED = ["units", "minutes", "theme"];
/** @type {Record<string, string | undefined>} */
const USUAL = { units: "us", minutes: "20", theme: document.documentElement.dataset.theme };

// What Dash calls in the browser: a dialog closes once what it asked for is recorded.
window.dash_clientside = Object.assign(window.dash_clientside ?? {}, {
  page: {
    closeDialog: (/** @type {{ dialog: string } | null} */ recorded) => {
      const dialog = document.getElementById(recorded?.dialog ?? "");
      if (dialog instanceof HTMLDialogElement) dialog.close();
      return null;
    },
  },
});

// Give a value to a Dash store, so that callbacks know of it. Dash may still be loading.
/**
 * @param {string} store
 * @param {unknown} value
 */
export function tellDash(store, value) {
  if (window.dash_clientside?.set_props && document.getElementById("page")) {
    window.dash_clientside.set_props(store, { data: value });
  } else {
    setTimeout(() => tellDash(store, value), 100);
  }
}

/**
 * @param {Element | null} group
 * @param {string | undefined} value
 */
function press(group, value) {
  for (const option of group?.querySelectorAll("[data-value]") ?? []) {
    option.setAttribute("aria-pressed", String(option.getAttribute("data-value") === value));
  }
}

/**
 * @param {HTMLElement} button
 * @param {Listeners} listeners
 */
function choose(button, listeners) {
  const group = button.closest("[data-choice]");
  const choice = group?.getAttribute("data-choice") ?? "";
  const value = button.dataset.value ?? "";
  press(group, value);
  if (REMEMBERED.includes(choice)) {
    localStorage.setItem(choice, value);
    listeners[choice]?.(value);
  } else {
    tellDash(choice, value);
  }
}

/** @param {HTMLElement} button */
async function copy(button) {
  const link = document.querySelector(`[data-link="${button.dataset.copies}"]`);
  if (!link) return;
  getSelection()?.selectAllChildren(link);
  try {
    await navigator.clipboard.writeText(link.textContent ?? "");
    button.textContent = "Copied";
  } catch {
    button.textContent = "Selected: copy it by hand";
  }
}

// What the server writes anew at each opening is empty until then: nobody types into the form of last time.
/** @param {HTMLDialogElement | null} dialog */
function openAnew(dialog) {
  for (const part of dialog?.querySelectorAll("[data-made-anew]") ?? []) {
    window.dash_clientside?.set_props?.(part.id, { children: [] });
  }
  dialog?.showModal();
}

/**
 * @param {Event} event
 * @param {Listeners} listeners
 */
function onClick(event, listeners) {
  const button = event.target instanceof Element ? event.target.closest("button") : null;
  if (!button) return;
  const dialog = (/** @type {string} */ id) => /** @type {HTMLDialogElement | null} */ (document.getElementById(id));
  if (button.dataset.value) choose(button, listeners);
  if (button.dataset.corrects) tellDash("correction-of", { mark: button.dataset.corrects, at: Date.now() });
  if (button.dataset.opens) openAnew(dialog(button.dataset.opens));
  if (button.dataset.closes) dialog(button.dataset.closes)?.close();
  if (button.dataset.copies) copy(button);
}

// Dash writes the page when its scripts have loaded: wait for it, then show what was chosen last time.
/** @param {Listeners & { ready: () => void }} listeners */
export function startControls(listeners) {
  document.addEventListener("click", (event) => onClick(event, listeners));
  const whenReady = () => {
    if (!document.getElementById("page")) return false;
    for (const choice of REMEMBERED) {
      press(document.querySelector(`[data-choice="${choice}"]`), localStorage.getItem(choice) ?? USUAL[choice]);
    }
    listeners.ready();
    return true;
  };
  if (whenReady()) return;
  const observer = new MutationObserver(() => {
    if (whenReady()) observer.disconnect();
  });
  observer.observe(document.body, { childList: true, subtree: true });
}
