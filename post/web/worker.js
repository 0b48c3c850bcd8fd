// The worker: unpacks and runs the program, and passes calls to it one at a time.
'use strict';
var call = null, waiting = [], memory = null;
function answer(m) {
  var begun = performance.now(), r = call(JSON.stringify(m.call), m.file || null, function (what) { postMessage({ id: m.id, tell: what }); });
  postMessage({ id: m.id, json: r.json, error: r.error, bug: r.bug, bytes: r.bytes, memory: memory.buffer.byteLength, worked: performance.now() - begun }, r.bytes ? [r.bytes.buffer] : []);
}
// A letter a byte, see web.go; a byte keeps of a number what is below 256.
function unpack(text) {
  var bytes = new Uint8Array(text.length);
  for (var i = 0; i < bytes.length; i++) { bytes[i] = text.charCodeAt(i) ^ {{SCRAMBLE}}; }
  return bytes;
}
function start(module, version) {
  var go = new Go();
  go.argv = ['spotjig-page', version];
  self.spotjigReady = function (f) {
    call = f;
    postMessage({ ready: true, module: module });
    waiting.forEach(answer);
  };
  return WebAssembly.instantiate(module, go.importObject).then(function (instance) {
    memory = instance.exports.mem;
    go.run(instance).then(function () { postMessage({ bug: 'the program has ended' }); });
  });
}
self.onmessage = function (e) {
  var m = e.data;
  if (m.begin) {
    (m.module ? Promise.resolve(m.module) : WebAssembly.compile(unpack(m.packed)))
      .then(function (module) { return start(module, m.version); })
      .catch(function (err) { postMessage({ bug: String(err) }); });
    return;
  }
  if (call) { answer(m); } else { waiting.push(m); }
};
