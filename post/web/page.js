(function () {
  'use strict';
  // The page shows what the program answers. It works nothing out of its own.
  var by = function (id) { return document.getElementById(id); };
  var VERSION = '{{VERSION}}';

  function el(tag, attrs) {
    var e = document.createElement(tag);
    Object.keys(attrs || {}).forEach(function (k) {
      if (k === 'text') { e.textContent = attrs[k]; } else if (k === 'cls') { e.className = attrs[k]; } else { e.setAttribute(k, attrs[k]); }
    });
    for (var i = 2; i < arguments.length; i++) { if (arguments[i]) { e.appendChild(arguments[i]); } }
    return e;
  }
  function fill(parent, children) {
    parent.textContent = '';
    children.forEach(function (c) { parent.appendChild(c); });
  }
  function lines(id, texts) { fill(by(id), texts.map(function (t) { return el('li', { text: t }); })); }
  function picture(id, svg) {
    var img = by(id), old = img.src;
    img.src = URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
    if (old) { URL.revokeObjectURL(old); }
  }
  function save(name, data, type) {
    var a = el('a', { download: name, href: URL.createObjectURL(new Blob([data], { type: type })) });
    a.click();
    setTimeout(function () { URL.revokeObjectURL(a.href); }, 60000);
  }
  function row(first, cells) {
    var tr = el('tr', {}, first);
    cells.forEach(function (c) { tr.appendChild(el('td', { 'data-label': c[0], text: c[1] })); });
    return tr;
  }
  function stored(key, value) {
    try {
      if (value === undefined) { return localStorage.getItem('spotjig ' + key); }
      localStorage.setItem('spotjig ' + key, value);
      return value;
    } catch (e) { return null; }
  }
  function faultList(list, notes) {
    var one = function (f, cls) {
      var where = f.line ? 'line ' + f.line + ', ' : '';
      return el('div', { cls: cls }, el('b', { text: where + (f.field ? f.field + ': ' : '') }), el('span', { text: f.text + (f.code ? ' [' + f.code + ']' : '') }), f.help ? el('span', { cls: 'help', text: f.help }) : null);
    };
    return list.map(function (f) { return one(f, ''); }).concat((notes || []).map(function (f) { return one(f, 'note'); }));
  }

  // ---- the program, in workers: one for what is shown while one types, one for long work
  var program = null; // compiled once, for both
  var source = URL.createObjectURL(new Blob([by('worker').textContent], { type: 'text/javascript' }));
  function Runner(onReady) {
    var w = new Worker(source), open = {}, next = 1, self = this;
    w.onmessage = function (e) {
      var m = e.data, o = open[m.id];
      if (m.ready) { program = m.module; by('packed').textContent = ''; if (onReady) { onReady(); } return; }
      if (m.bug) { by('status').textContent = 'This is a bug of ours; reload the page and tell us what you did: ' + m.bug.split('\n')[0]; }
      if (!o) { return; }
      if ('tell' in m) { if (o.tell) { o.tell(m.tell); } return; }
      delete open[m.id];
      document.body.dataset.memory = m.memory;
      if (o.timed) { document.body.dataset.worked = m.worked.toFixed(1); }
      o.done(m.json === undefined ? null : JSON.parse(m.json), m.error || m.bug || '', m.bytes);
    };
    w.onerror = function (e) { by('status').textContent = 'The program cannot run in this browser: ' + e.message; };
    w.postMessage(program ? { begin: true, module: program, version: VERSION } : { begin: true, packed: by('packed').textContent, version: VERSION });
    self.ask = function (call, done, file, tell) {
      open[next] = { done: done, tell: tell, timed: call.do === 'change' };
      w.postMessage({ id: next, call: call, file: file });
      next++;
    };
    self.end = function () { w.terminate(); };
  }
  var live = null, busy = null;
  function worker() { busy = busy || new Runner(); return busy; }
  function stopWork() { if (busy) { busy.end(); busy = null; } }

  // ---- the job: its text is the truth, and every change goes through the program
  var job = '', shown = null, asking = false, queue = [];
  var narrow = window.matchMedia('(max-width: 599px)');
  narrow.addEventListener('change', function () { ask({ do: 'look', text: job }); });
  function ask(call) {
    var last = queue[queue.length - 1];
    if (last && last.do === call.do && last.path === call.path || call.do !== 'change') { queue = call.do === 'change' ? queue.slice(0, -1) : []; }
    queue.push(call);
    turn();
  }
  function turn() {
    if (asking || !queue.length || !live) { return; }
    var call = queue.shift();
    asking = true;
    call.narrow = narrow.matches;
    if (call.do === 'change') { call.text = job; }
    var begun = performance.now();
    live.ask(call.do === 'open' ? { do: 'open', narrow: call.narrow } : call, function (state, error) {
      asking = false;
      if (state) { show(state, call); document.body.dataset.took = (performance.now() - begun).toFixed(1); } else { by('status').textContent = error; }
      turn();
    }, call.do === 'open' ? call.file : null);
  }
  function show(state, call) {
    if (state.text !== job) { forget(); }
    job = state.text;
    if (call.do !== 'change' && call.do !== 'look' || call.kept) { safe = job; }
    if (document.activeElement !== by('text')) { by('text').value = job; }
    form(state.groups, call.do !== 'change');
    fill(by('faults'), faultList(state.faults, state.notes));
    shown = state.shown;
    document.body.classList.toggle('has', !!shown);
    if (shown) { job && showJob(shown); }
    document.body.dataset.state = String(Number(document.body.dataset.state || 0) + 1);
    heeded();
  }
  function showJob(s) {
    lines('facts', s.facts);
    picture('plan', s.picture);
    fill(by('mark-rows'), s.marks.map(function (m) {
      var r = row(el('th', { scope: 'row', text: m.name }, el('span', { cls: 'rule', text: m.rule + '. ' + m.source + ' (' + m.games + ')' })),
        [['From the head nose', m.from_head], ['From the foot nose', m.from_foot], ['Across', m.across], ['Tape', m.tape]]);
      r.dataset.id = m.id;
      return r;
    }));
    fill(by('remarks'), s.remarks.map(function (r) {
      var ul = el('ul', {});
      r.options.forEach(function (o) { ul.appendChild(el('li', { text: o })); });
      return el('div', {}, el('p', { text: r.text + (r.help ? ' (' + r.help + ')' : '') }), r.options.length ? ul : null);
    }));
    lines('ball-lines', s.balls.lines);
    fill(by('rack-head'), s.balls.head.map(function (h) { return el('th', { scope: 'col', text: h }); }));
    fill(by('rack-rows'), s.balls.racks.map(function (r) {
      return row(el('th', { scope: 'row', text: r[0] + ' reds' }), r.slice(1).map(function (c, i) { return [s.balls.head[i + 1], c]; }));
    }));
    by('racks').hidden = !s.balls.racks.length;
    fill(by('card-rows'), s.steps.map(function (c) {
      return row(el('th', { scope: 'row', text: c.name }), [['From the end', c.end], ['From the side', c.side], ['Check', c.check], ['1/32 in moves it', c.moves]]);
    }));
    var cautions = s.cautions.join('\n');
    if (cautions !== by('cautions').dataset.are) { by('heeded').checked = false; } // others were read
    by('cautions').dataset.are = cautions;
    lines('cautions', s.cautions);
    fill(by('unmade'), faultList(s.unmade));
    showSteps(s);
    compare();
  }

  // What was typed and neither saved nor kept is not lost without a question.
  var safe = '';
  window.onbeforeunload = function (e) {
    if (job !== safe) { e.preventDefault(); }
  };

  // ---- the form
  var fields = {};
  function form(groups, whole) {
    var paths = groups.map(function (g) { return g.fields.map(function (f) { return f.path; }).join(); }).join();
    if (fields.paths !== paths) {
      fields = { paths: paths };
      fill(by('form'), groups.map(function (g) {
        var grid = el('div', { cls: 'fields' });
        g.fields.forEach(function (f) { grid.appendChild(field(f)); });
        var hint = g.hint ? el('p', { cls: 'hint', text: g.hint }) : null;
        if (!g.folds) { return el('fieldset', {}, el('legend', { text: g.title }), hint, grid); }
        var d = el('details', {}, el('summary', { text: g.title }), hint, grid);
        d.open = !g.folded;
        return d;
      }));
    }
    groups.forEach(function (g) {
      g.fields.forEach(function (f) { update(f, whole); });
      var d = fields[g.fields[0].path].box.closest('details');
      if (whole && d && !g.folded) { d.open = true; }
    });
  }
  function field(f) {
    var id = 'f-' + f.path.replace('.', '-'), box, input, list = null;
    if (f.kind === 'some') {
      box = el('div', { cls: 'field wide-field', role: 'group', 'aria-labelledby': id + '-n' }, el('span', { cls: 'name', id: id + '-n', text: f.label }));
      input = el('div', { cls: 'some', id: id });
      f.options.forEach(function (o) { input.appendChild(el('label', {}, el('input', { type: 'checkbox', value: o.value }), el('span', { text: o.label }))); });
    } else {
      box = el('div', { cls: 'field' }, el('label', { 'for': id, text: f.label }));
      input = el(f.kind === 'one' ? 'select' : 'input', { id: id, autocomplete: 'off', 'aria-describedby': id + '-t' });
      if (f.kind === 'one') {
        input.appendChild(el('option', { value: '', text: 'not stated' }));
        f.options.forEach(function (o) { input.appendChild(el('option', { value: o.value, text: o.label })); });
      } else if (f.options.length) {
        list = el('datalist', { id: id + '-l' });
        f.options.forEach(function (o) { list.appendChild(el('option', { value: o.value })); });
        input.setAttribute('list', id + '-l');
      }
    }
    var told = el('div', { id: id + '-t' });
    box.appendChild(input);
    if (list) { box.appendChild(list); }
    box.appendChild(told);
    input.addEventListener('input', function () {
      var values = f.kind === 'some' ? Array.prototype.filter.call(input.querySelectorAll('input'), function (c) { return c.checked; }).map(function (c) { return c.value; }) : input.value.trim() ? [input.value] : [];
      ask({ do: 'change', path: f.path, values: values });
    });
    fields[f.path] = { box: box, input: input, told: told };
    return box;
  }
  function update(f, whole) {
    var e = fields[f.path];
    if (f.kind === 'some') {
      e.input.querySelectorAll('input').forEach(function (c) { c.checked = f.values.indexOf(c.value) >= 0; });
    } else if (whole || document.activeElement !== e.input) {
      e.input.value = f.values.length ? f.values[0] : '';
      if (f.kind === 'one' && e.input.selectedIndex < 0) { // not one of them: it is shown all the same
        e.input.appendChild(el('option', { value: f.values[0], text: f.values[0] }));
        e.input.value = f.values[0];
      }
    }
    e.box.classList.toggle('bad', f.faults.length > 0);
    if (f.faults.length && e.box.closest('details')) { e.box.closest('details').open = true; }
    if (f.kind !== 'some') { e.input.setAttribute('aria-invalid', f.faults.length ? 'true' : 'false'); }
    fill(e.told, f.faults.map(function (p) { return el('span', { cls: 'fault', text: p.text + '; ' + p.help }); })
      .concat(f.echo ? [el('span', { cls: 'echo', text: f.echo })] : []).concat(f.hint ? [el('span', { cls: 'tip', text: f.hint })] : []));
  }
  by('form').addEventListener('submit', function (e) { e.preventDefault(); });

  // ---- files
  function opened(input, take) {
    input.addEventListener('change', function () {
      var f = input.files[0];
      input.value = '';
      if (f) { take(f); }
    });
  }
  opened(by('open'), function (f) { ask({ do: 'open', file: f }); });
  by('begin').addEventListener('click', function () { ask({ do: 'start' }); });
  by('demo').addEventListener('click', function () { ask({ do: 'demo' }); });
  by('save').addEventListener('click', function () {
    save('job.yaml', job, 'application/yaml');
    safe = job;
  });
  by('keep').addEventListener('click', function () {
    var kept = stored('job', job) !== null;
    if (kept) { safe = job; }
    by('status').textContent = !kept ? 'This browser keeps nothing for a page opened like this: save the job file.' : 'Kept in this browser.';
  });
  by('text').addEventListener('input', function () { ask({ do: 'look', text: by('text').value }); });

  // ---- marking, a step at a time
  var at = 0, read = {};
  function showSteps(s) {
    var kept = {};
    try { kept = JSON.parse(stored('step') || '{}'); } catch (e) { kept = {}; }
    at = Math.min(kept.job === s.name ? kept.at || 0 : 0, s.steps.length - 1);
    fill(by('steps'), s.steps.map(function (c, i) { return el('option', { value: String(i), text: String(i + 1) + ' ' + c.name }); }));
    step(at);
  }
  function step(n) {
    if (!shown || !shown.steps[n]) { return; }
    at = n;
    var c = shown.steps[n], r = read[c.id] || {};
    by('step-h').textContent = 'Step ' + (n + 1) + ' of ' + shown.steps.length + ': ' + c.name;
    fill(by('step-how'), [['Along', c.end], ['Across', c.side], ['Check', c.check]].reduce(function (all, p) {
      return all.concat([el('dt', { text: p[0] }), el('dd', { text: p[1] })]);
    }, []));
    by('read-end-l').textContent = 'Read after marking, from the ' + c.ends;
    by('read-side-l').textContent = 'Read after marking, from the ' + c.sides;
    by('read-end').value = r.end || '';
    by('read-side').value = r.side || '';
    by('steps').value = String(n);
    by('back').disabled = n === 0;
    by('next').disabled = n === shown.steps.length - 1;
  }
  function go(n) {
    step(n);
    stored('step', JSON.stringify({ job: shown.name, at: at }));
  }
  by('back').addEventListener('click', function () { go(at - 1); });
  by('next').addEventListener('click', function () { go(at + 1); });
  by('steps').addEventListener('change', function () { go(Number(by('steps').value)); });
  ['end', 'side'].forEach(function (k) {
    by('read-' + k).addEventListener('input', function () {
      var id = shown.steps[at].id;
      read[id] = read[id] || { id: id, end: '', side: '' };
      read[id][k] = by('read-' + k).value;
    });
  });

  // ---- comparing
  var record = '';
  function compare() {
    var text = by('readings').value;
    if (!text.trim()) { told({ faults: [], places: [], unread: [], verdict: '', record: '' }); return; }
    live.ask({ do: 'compare', text: job, readings: text }, function (c) { if (c) { told(c); } });
  }
  function told(c) {
    record = c.record;
    by('save-record').disabled = !record;
    fill(by('compare-faults'), faultList(c.faults));
    by('compare-verdict').textContent = c.verdict;
    by('compare-verdict').className = 'verdict ' + (c.pass ? 'pass' : 'fail');
    fill(by('compare-rows'), c.places.map(function (p) {
      return row(el('th', { scope: 'row', text: p.name }), [['Off by', p.off], ['Verdict', p.inside ? 'inside' : 'outside']]);
    }));
    by('unread').textContent = c.unread.length ? 'Not read: ' + c.unread.join(', ') + '.' : '';
  }
  by('readings').addEventListener('input', compare);
  by('take').addEventListener('click', function () {
    live.ask({ do: 'readings', text: job, taken: Object.keys(read).map(function (k) { return read[k]; }) }, function (t) {
      if (t !== null) { by('readings').value = t; compare(); }
    });
  });
  opened(by('open-readings'), function (f) { f.slice(0, 1 << 20).text().then(function (t) { by('readings').value = t; compare(); }); });
  by('save-record').addEventListener('click', function () { save('marked.txt', record, 'text/plain'); });

  // ---- the set
  var set = null, making = false;
  function heeded() {
    var may = by('heeded').checked && shown && !shown.unmade.length;
    by('build').disabled = !may || making || judging;
    by('cancel').disabled = !making;
    by('save-set').disabled = !may || !set;
    by('made-rows').querySelectorAll('button').forEach(function (b) { b.disabled = !may || !set || judging; });
  }
  function forget() {
    set = null;
    by('single').hidden = true;
    ['made-status'].forEach(function (id) { by(id).textContent = ''; });
    ['made-faults', 'made-lines', 'made-checks', 'made-rows'].forEach(function (id) { by(id).textContent = ''; });
    if (making) { stopWork(); making = false; }
    heeded();
  }
  by('heeded').addEventListener('change', heeded);
  by('build').addEventListener('click', function () {
    set = null;
    making = true;
    heeded();
    by('made-status').textContent = 'starting the program';
    var begun = performance.now();
    worker().ask({ do: 'make', text: job, options: { paper: by('paper').value, svg: by('svg').checked } }, function (m, error, bytes) {
      making = false;
      document.body.dataset.made = (performance.now() - begun).toFixed(0);
      if (!m) { by('made-status').textContent = error; heeded(); return; }
      fill(by('made-faults'), faultList(m.faults, m.notes));
      lines('made-lines', m.lines);
      fill(by('made-checks'), m.checks.map(function (c) { return el('li', {}, el('span', { cls: c.verdict, text: c.verdict + ' ' }), el('span', { text: c.text })); }));
      fill(by('made-rows'), m.files.map(function (f) {
        var b = el('button', { type: 'button', 'data-file': f.name, text: 'Save ' + f.name });
        return el('tr', {}, el('th', { scope: 'row' }, b), el('td', { 'data-label': 'Size', text: f.size }));
      }));
      set = bytes || null;
      by('single').hidden = !set;
      by('made-status').textContent = set ? 'Made and proved: ' + m.passed + ' passed. Nothing is saved yet.' : 'Refused; there is nothing to save.';
      heeded();
    }, null, function (stage) { by('made-status').textContent = stage; });
  });
  by('cancel').addEventListener('click', function () {
    stopWork();
    making = false;
    by('made-status').textContent = 'Cancelled; nothing was made.';
    heeded();
  });
  by('save-set').addEventListener('click', function () { save('spotjig-set.zip', set, 'application/zip'); });

  by('made-rows').addEventListener('click', function (e) {
    var b = e.target.closest('button');
    if (!b || !busy) { return; }
    busy.ask({ do: 'file', path: b.dataset.file }, function (name, error, bytes) { if (bytes) { save(name, bytes, 'application/octet-stream'); } });
  });

  // ---- dry run
  var judging = false, dropped = null, playing = false, wanted = null;
  function judge(f) {
    if (!f || !live) { return; }
    if (making) {
      by('judge-status').textContent = 'The set is being made: wait for it, or cancel first.';
      return;
    }
    if (judging) { stopWork(); } // another program, or the same held against something else
    dropped = f;
    judging = true;
    by('judged').hidden = true;
    by('judge-cancel').disabled = false;
    by('judge-status').textContent = f.name + ': being read';
    heeded();
    worker().ask({ do: 'judge', text: job, judge: { name: f.name, machine: by('machine').value, stock: by('stock').value.trim(), assume: by('assume').checked } }, function (j, error) {
      judging = false;
      by('judge-cancel').disabled = true;
      heeded();
      if (!j) { by('judge-status').textContent = f.name + ': ' + error; return; }
      by('judge-status').textContent = f.name + ', held against ' + j.against;
      by('verdict').textContent = j.told;
      by('verdict').className = 'verdict ' + j.verdict;
      fill(by('rests'), [['If', j.if], ['Else', j.else]].reduce(function (all, p) { return p[1] ? all.concat([el('dt', { text: p[0] }), el('dd', { text: p[1] })]) : all; }, []));
      lines('judged-lines', j.lines);
      picture('way', j.picture);
      pause();
      by('scrub').value = by('scrub').max;
      fill(by('findings'), j.findings.map(function (p) {
        var li = el('li', { value: String(p.n) }, el('strong', { cls: p.severity, text: p.severity + ', ' + p.where + ': ' }), el('span', { text: p.text + ' [' + p.code + ']' }), p.source ? el('code', { text: p.source }) : null, el('span', { cls: 'help', text: p.help }));
        return li;
      }));
      by('judged').hidden = false;
    }, f, function (share) { by('judge-status').textContent = f.name + ': ' + (share < 1 ? Math.floor(share * 100) + ' % read' : 'being drawn'); });
  }
  by('judge-cancel').addEventListener('click', function () {
    stopWork();
    judging = false;
    by('judge-cancel').disabled = true;
    by('judge-status').textContent = 'Cancelled.';
    heeded();
  });
  opened(by('program'), judge);
  ['machine', 'stock', 'assume'].forEach(function (id) { by(id).addEventListener('change', function () { judge(dropped); }); });
  function play() {
    if (playing || wanted === null || !busy) { return; }
    var part = wanted;
    wanted = null;
    playing = true;
    busy.ask({ do: 'play', part: part }, function (svg) {
      playing = false;
      if (svg) { picture('way', svg); }
      play();
    });
  }
  by('scrub').addEventListener('input', function () { pause(); wanted = Number(by('scrub').value); play(); });
  // The player moves the slider on each time a picture has come; where less motion is asked
  // for, in ten steps.
  var running = false, calm = window.matchMedia('(prefers-reduced-motion: reduce)');
  function pause() {
    running = false;
    by('play').textContent = 'Play';
  }
  function advance() {
    if (!running || !busy) { pause(); return; }
    if (playing) { requestAnimationFrame(advance); return; }
    by('scrub').value = Number(by('scrub').value) + (calm.matches ? 100 : 4);
    wanted = Number(by('scrub').value);
    play();
    if (by('scrub').value === by('scrub').max) { pause(); return; }
    if (calm.matches) { setTimeout(advance, 700); } else { requestAnimationFrame(advance); }
  }
  by('play').addEventListener('click', function () {
    if (running) { pause(); return; }
    if (by('scrub').value === by('scrub').max) { by('scrub').value = 0; }
    running = true;
    by('play').textContent = 'Pause';
    advance();
  });
  var drop = by('drop');
  ['dragenter', 'dragover'].forEach(function (k) { document.addEventListener(k, function (e) { e.preventDefault(); drop.classList.add('over'); }); });
  ['dragleave', 'drop'].forEach(function (k) { document.addEventListener(k, function (e) { e.preventDefault(); drop.classList.remove('over'); }); });
  document.addEventListener('drop', function (e) { judge(e.dataTransfer.files[0]); });

  // ---- begin: once the page is on the screen
  function ready() {
    if (live.began) { return; }
    live.began = true;
    by('status').textContent = '';
    ['begin', 'open', 'save', 'keep', 'demo', 'text', 'machine', 'program'].forEach(function (id) { by(id).disabled = false; });
    live.ask({ do: 'machines' }, function (list) {
      fill(by('machine'), list.map(function (o) { return el('option', { value: o.value, text: o.label }); }));
    });
    var kept = stored('job');
    ask(kept ? { do: 'look', text: kept, kept: true } : { do: 'start' });
    document.body.dataset.ready = performance.now().toFixed(0);
  }
  window.addEventListener('load', function () {
    if (!('WebAssembly' in window)) {
      by('status').textContent = 'This browser is too old to run the program: bring it up to date, or use another.';
      return;
    }
    requestAnimationFrame(function () { setTimeout(function () { live = new Runner(ready); }, 0); });
    if (/^https?:$/.test(location.protocol) && 'serviceWorker' in navigator) {
      document.head.appendChild(el('link', { rel: 'manifest', href: 'manifest.webmanifest' }));
      navigator.serviceWorker.register('sw.js').catch(function () { /* the page works without it */ });
    }
  });
})();
