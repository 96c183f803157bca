// The server's events, as a page listens to them.

/** @typedef {Record<string, (data: any) => void>} Takers */

// Listen until `close` is called. An end that the server did not mean to be one is told, and tried again.
/**
 * @param {Record<string, string>} query
 * @param {Takers} takers
 * @param {{ heard: () => void, lost: () => void }} tell
 * @returns {{ close: () => void }}
 */
export function openStream(query, takers, tell, path = "stream") {
  const stream = new EventSource(`api/${path}?${new URLSearchParams(query)}`);
  /** @type {{ close: () => void }} */
  let current = stream;
  for (const [kind, take] of Object.entries(takers)) {
    stream.addEventListener(kind, (event) => {
      take(JSON.parse(event.data));
      tell.heard();
    });
  }
  stream.onerror = async () => {
    tell.lost();
    if (stream.readyState === EventSource.CLOSED && (await refused()))
      setTimeout(() => {
        if (current === stream) current = openStream(query, takers, tell, path);
      }, 2000);
  };
  return {
    close: () => {
      const last = current;
      current = { close: () => {} };
      last.close();
    },
  };
}

// The server answered, and with no stream. Where the login has ended, its own page says so and what to do.
async function refused() {
  const answer = await fetch("./").catch(() => null);
  if (answer?.status !== 401) return true;
  window.location.reload();
  return false;
}
