// Answers where nobody serves the page any more: with the page that has its
// engine in it.
"use strict";

const kept = "legtrace", tool = "/tool.html";

addEventListener("install", (e) => e.waitUntil(caches.open(kept).then((cache) => cache.add(tool)).then(() => skipWaiting())));
addEventListener("activate", (e) => e.waitUntil(clients.claim()));
addEventListener("fetch", (e) => {
  if (e.request.mode === "navigate") e.respondWith(fetch(e.request).catch(() => caches.match(tool)));
});
