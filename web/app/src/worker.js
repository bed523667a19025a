// The service worker: the page and its files from the cache, so that a Pad
// opens without a line; what the server tells from the server, or as it was
// when it was last asked.
const version = 'stopledger-__VERSION__';
const files = ['/', '/icon.svg', ...__FILES__];
const told = 'stopledger-told';
// Numbers are asked for in too many ways to be kept, and are stale tomorrow.
const numbers = /^\/api\/(board|players|rates|frame|evidence|clips|definitions)(\/|$)/;

self.addEventListener('install', (event) => {
  event.waitUntil(
    caches.open(version).then((cache) => cache.addAll(files)).then(() => self.skipWaiting())
  );
});

self.addEventListener('activate', (event) => {
  event.waitUntil(
    caches.keys()
      .then((keys) => Promise.all(keys.filter((k) => k !== version && k !== told).map((k) => caches.delete(k))))
      .then(() => self.clients.claim())
  );
});

self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== 'GET' || url.origin !== location.origin) return;
  if (url.pathname.startsWith('/ws/')) return;
  if (url.pathname.startsWith('/api/')) event.respondWith(serverFirst(event.request));
  else if (event.request.mode === 'navigate') event.respondWith(cached('/'));
  else event.respondWith(cached(event.request));
});

async function cached(request) {
  const hit = await caches.match(request, { cacheName: version });
  return hit ?? fetch(request);
}

async function serverFirst(request) {
  const cache = await caches.open(told);
  try {
    const answer = await fetch(request);
    if (answer.ok && !numbers.test(new URL(request.url).pathname)) await cache.put(request, answer.clone());
    if (answer.status === 401) await caches.delete(told); // whose pass has ended keeps no copies
    return answer;
  } catch (err) {
    const hit = await cache.match(request);
    if (hit) return hit;
    throw err;
  }
}
