// Keeps everything that was loaded once, so that the folder works without a network.
const NAME = "templater-VERSION";
self.addEventListener("install", (event) => event.waitUntil(caches.open(NAME).then((kept) => kept.addAll(FILES))));
self.addEventListener("activate", (event) => event.waitUntil(caches.keys().then((names) =>
  Promise.all(names.filter((one) => one.startsWith("templater-") && one !== NAME).map((one) => caches.delete(one))))));
self.addEventListener("fetch", (event) => event.respondWith(
  caches.match(event.request).then((found) => found ?? fetch(event.request))));
