// Keeps the page itself on the tablet, so that it opens when the desk is out of reach. What is asked
// of the desk (/api/) is never answered from here.
const SHELL = "marling-shell";
const FILES = ["/", "/app.js", "/app.css", "/font.otf"];
const WAIT_MS = 4000;

addEventListener("install", (event) => {
  event.waitUntil(
    caches
      .open(SHELL)
      .then((cache) => cache.addAll(FILES))
      .then(() => skipWaiting()),
  );
});

addEventListener("activate", (event) => event.waitUntil(clients.claim()));

async function fresh_or_kept(request) {
  const cache = await caches.open(SHELL);
  try {
    const answer = await fetch(request, { signal: AbortSignal.timeout(WAIT_MS) });
    if (answer.ok) {
      await cache.put(request, answer.clone());
    }
    return answer;
  } catch (error) {
    const kept = await cache.match(request, { ignoreSearch: true });
    if (kept) {
      return kept;
    }
    throw error;
  }
}

addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (
    event.request.method === "GET" &&
    url.origin === location.origin &&
    FILES.includes(url.pathname)
  ) {
    event.respondWith(fresh_or_kept(event.request));
  }
});
