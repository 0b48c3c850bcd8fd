// The service worker: the page as it was first loaded is the page from then on, with a
// network or without, until the folder holds another.
'use strict';
var NAME = 'spotjig-{{STAMP}}', FILES = ['./', 'manifest.webmanifest'];
self.addEventListener('install', function (e) {
  e.waitUntil(caches.open(NAME).then(function (c) { return c.addAll(FILES); }).then(function () { return self.skipWaiting(); }));
});
self.addEventListener('activate', function (e) {
  e.waitUntil(caches.keys().then(function (all) {
    return Promise.all(all.filter(function (n) { return n.indexOf('spotjig-') === 0 && n !== NAME; }).map(function (n) { return caches.delete(n); }));
  }).then(function () { return self.clients.claim(); }));
});
self.addEventListener('fetch', function (e) {
  if (e.request.method !== 'GET') { return; }
  e.respondWith(caches.open(NAME).then(function (c) {
    return c.match(e.request.mode === 'navigate' ? './' : e.request).then(function (r) { return r || Response.error(); });
  }));
});
