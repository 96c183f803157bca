// What a person touches that needs no server: choices, dialogs, copying a link. The rest is Dash's.

const REMEMBERED = ["units", "minutes", "theme"];
const USUAL = { units: "us", minutes: "20", theme: document.documentElement.dataset.theme };

// Give a value to a Dash store, so that callbacks know of it. Dash may still be loading.
export function tellDash(store, value) {
  if (window.dash_clientside?.set_props && document.getElementById("page")) {
    window.dash_clientside.set_props(store, { data: value });
  } else {
    setTimeout(() => tellDash(store, value), 100);
  }
}

function press(group, value) {
  for (const option of group.querySelectorAll("[data-value]")) {
    option.setAttribute("aria-pressed", String(option.dataset.value === value));
  }
}

function choose(button, listeners) {
  const group = button.closest("[data-choice]");
  const { choice } = group.dataset;
  press(group, button.dataset.value);
  if (REMEMBERED.includes(choice)) {
    localStorage.setItem(choice, button.dataset.value);
    listeners[choice](button.dataset.value);
  } else {
    tellDash(choice, button.dataset.value);
  }
}

async function copy(button) {
  const link = document.querySelector(`[data-link="${button.dataset.copies}"]`);
  getSelection().selectAllChildren(link);
  try {
    await navigator.clipboard.writeText(link.textContent);
    button.textContent = "Copied";
  } catch {
    button.textContent = "Selected: copy it by hand";
  }
}

function onClick(event, listeners) {
  const button = event.target.closest("button");
  if (!button) return;
  if (button.dataset.value) choose(button, listeners);
  if (button.dataset.opens) document.getElementById(button.dataset.opens)?.showModal();
  if (button.dataset.closes) document.getElementById(button.dataset.closes)?.close();
  if (button.dataset.copies) copy(button);
}

// Dash writes the page when its scripts have loaded: wait for it, then show what was chosen last time.
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
