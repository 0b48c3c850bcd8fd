(function () {
  'use strict';
  var NS = 'http://www.w3.org/2000/svg';
  var by = function (id) { return document.getElementById(id); };
  var calm = window.matchMedia('(prefers-reduced-motion: reduce)');

  // Switches of the table picture.
  by('switches').addEventListener('change', function (e) {
    by('plan').classList.toggle('no-' + e.target.dataset.layer, !e.target.checked);
    if (e.target.dataset.layer === 'dims') {
      by('plan').querySelectorAll('svg[data-full]').forEach(function (s) { s.setAttribute('viewBox', e.target.checked ? s.dataset.full : s.dataset.plain); });
    }
  });

  // Showing where: a check, a mark or a budget lights up what it speaks of.
  var lit = [], asker = null;
  function dark() {
    lit.forEach(function (el) { el.classList.remove('hot'); });
    if (asker) { asker.classList.remove('lit'); }
    lit = [];
    by('told').textContent = '';
  }
  function back() {
    var a = asker;
    dark();
    asker = null;
    if (a) { a.focus(); a.scrollIntoView({ block: 'center' }); }
  }
  function show(button) {
    dark();
    asker = button;
    button.classList.add('lit');
    var ids = (button.dataset.where || '').split(' ').filter(Boolean);
    ids.forEach(function (id) {
      var el = by(id);
      if (el) { el.classList.add('hot'); lit.push(el); }
    });
    var told = by('told');
    told.textContent = ids.length ? 'Lit up: ' + button.dataset.names + '. ' : 'This one is about the job as a whole: there is no place to show. ';
    var b = document.createElement('button');
    b.type = 'button';
    b.textContent = 'Back to the list';
    b.addEventListener('click', back);
    told.appendChild(b);
    if (!ids.length) { return; }
    var sheet = ids.filter(function (id) { return id.indexOf('sheet') === 0; })[0];
    var onPlan = ids.some(function (id) { return id.indexOf('sheet') !== 0; });
    by(onPlan ? 'plan' : sheet).scrollIntoView({ block: 'center' });
  }
  document.addEventListener('click', function (e) {
    var b = e.target.closest('button[data-where]');
    if (b) { show(b); }
  });
  document.addEventListener('keydown', function (e) {
    if (e.key === 'Escape' && asker) { back(); }
  });

  // Paper shows what a screen folds away.
  var opened = [];
  window.addEventListener('beforeprint', function () {
    opened = Array.prototype.filter.call(document.querySelectorAll('details'), function (d) { return !d.open; });
    opened.forEach(function (d) { d.open = true; });
  });
  window.addEventListener('afterprint', function () { opened.forEach(function (d) { d.open = false; }); });

  // The cut order.
  if (!by('data')) { return; }
  var data = JSON.parse(by('data').textContent);
  var LAYER = 0, PART = 1, FEATURE = 2, POWER = 3, LENGTH = 4, GO = 5, CUT = 6, PATH = 7, LIFTS = 8;
  var stage = by('stage'), scrub = by('scrub');
  var deck, start, ends, rapids, cutBefore, total;
  var opEls, goEls, progress, going, head, shown, now = 0, index = -1, playing = false, last = 0;

  function make(name, attrs, parent) {
    var el = document.createElementNS(NS, name);
    Object.keys(attrs).forEach(function (k) { el.setAttribute(k, attrs[k]); });
    parent.appendChild(el);
    return el;
  }
  function option(select, value, text) {
    var o = document.createElement('option');
    o.value = value;
    o.textContent = text;
    select.appendChild(o);
  }
  function clock(s) {
    s = Math.round(s);
    var m = Math.floor(s / 60);
    return m < 60 ? m + ':' + ('0' + s % 60).slice(-2) : Math.floor(m / 60) + ':' + ('0' + m % 60).slice(-2) + ':' + ('0' + s % 60).slice(-2);
  }
  function metres(mm) { return (mm / 1000).toFixed(2) + ' m'; }
  function partName(op) { return op[PART] < 0 ? 'sheet' : data.parts[op[PART]]; }
  function box(cls, b, parent) {
    make('rect', { 'class': cls, x: b[0], y: b[1], width: b[2] - b[0], height: b[3] - b[1] }, parent);
  }

  function load(k) {
    stop();
    deck = data.sheets[k];
    stage.textContent = '';
    var all = [0, 0, deck.size[0], deck.size[1]];
    [deck.travel, deck.bounds, data.start.concat(data.start)].forEach(function (b) {
      if (b) { all = [Math.min(all[0], b[0]), Math.min(all[1], b[1]), Math.max(all[2], b[2]), Math.max(all[3], b[3])]; }
    });
    var m = 0.02 * (all[2] - all[0]);
    stage.setAttribute('viewBox', [all[0] - m, -all[3] - m, all[2] - all[0] + 2 * m, all[3] - all[1] + 2 * m].join(' '));
    var g = make('g', { transform: 'matrix(1 0 0 -1 0 0)' }, stage);
    box('stock', [0, 0, deck.size[0], deck.size[1]], g);
    var ghosts = make('g', { 'class': 'ghost' }, g);
    deck.pieces.forEach(function (p) {
      make('use', { href: '#p' + p[0], transform: 'translate(' + p[1] + ' ' + p[2] + ') rotate(' + p[3] + ') scale(' + p[4] + ')' }, ghosts);
    });
    if (deck.bounds) { box('bounds', deck.bounds, g); }
    if (deck.travel) { box('travel', deck.travel, g); }
    var under = make('g', {}, g), over = make('g', {}, g);
    start = []; ends = []; rapids = []; cutBefore = []; opEls = []; goEls = [];
    total = 0;
    var at = data.start, cut = 0, rapid = 0;
    deck.ops.forEach(function (op) {
      var el = make('path', { 'class': 'op op' + op[LAYER], d: op[PATH] }, over);
      var a = /^M(-?[\d.]+)[ ]?(-?[\d.]+)/.exec(op[PATH]);
      var from = at, to = [+a[1], +a[2]];
      goEls.push(make('path', { 'class': 'rapid', d: 'M' + from.join(' ') + 'L' + to.join(' ') }, under));
      opEls.push(el);
      start.push(total);
      cutBefore.push(cut);
      rapids.push({ from: from, to: to, before: rapid });
      total += op[GO] + op[CUT];
      cut += op[LENGTH];
      rapid += Math.hypot(to[0] - from[0], to[1] - from[1]);
      var end = el.getPointAtLength(el.getTotalLength());
      at = [end.x, end.y];
      ends.push(at);
    });
    going = make('path', { 'class': 'rapid on' }, g);
    progress = make('path', { 'class': 'progress' }, g);
    head = make('circle', { 'class': 'head', r: 0.009 * (all[2] - all[0]) }, g);
    var jump = by('jump');
    jump.textContent = '';
    option(jump, '', 'choose');
    var seen = {};
    deck.ops.forEach(function (op, i) {
      if (!seen[op[PART]]) { seen[op[PART]] = true; option(jump, String(i), partName(op)); }
    });
    scrub.max = Math.max(1, Math.round(total * 10));
    index = -1;
    shown = 0;
    set(0);
  }

  function find(t) {
    var a = 0, b = start.length - 1;
    while (a < b) {
      var m = (a + b + 1) >> 1;
      if (start[m] <= t) { a = m; } else { b = m - 1; }
    }
    return a;
  }
  // upTo marks every operation before n as done and the others as to come.
  function upTo(n) {
    while (shown < n) { opEls[shown].classList.add('done'); goEls[shown].classList.add('on'); shown++; }
    while (shown > n) { shown--; opEls[shown].classList.remove('done'); goEls[shown].classList.remove('on'); }
  }
  function liftedAt(op, f) {
    var l = op[LIFTS] || [];
    for (var i = 0; i < l.length; i += 2) { if (f >= l[i] && f < l[i + 1]) { return true; } }
    return false;
  }
  function words(on, lifted, op) {
    if (data.process === 'knife') { return on ? (lifted ? 'blade lifted to turn' : 'blade down') : 'blade up, travelling'; }
    return on ? 'beam on, power word ' + op[POWER] : 'beam off, travelling';
  }

  function set(t) {
    now = Math.max(0, Math.min(total, t));
    var n = deck.ops.length;
    if (!n) { return; }
    var i = find(now), op = deck.ops[i], r = rapids[i], into = now - start[i];
    var done = now >= total, on = !done && into >= op[GO];
    var f = done ? 1 : on ? (op[CUT] > 0 ? Math.min(1, (into - op[GO]) / op[CUT]) : 1) : 0;
    var g = on || done ? 1 : (op[GO] > 0 ? into / op[GO] : 1);
    upTo(done ? n : i);
    if (on || done) { goEls[i].classList.add('on'); } else { goEls[i].classList.remove('on'); }
    var el = opEls[i], len = el.getTotalLength();
    var at = on ? el.getPointAtLength(len * f) : done ? { x: ends[i][0], y: ends[i][1] } : { x: r.from[0] + (r.to[0] - r.from[0]) * g, y: r.from[1] + (r.to[1] - r.from[1]) * g };
    going.setAttribute('d', on || done ? '' : 'M' + r.from.join(' ') + 'L' + at.x + ' ' + at.y);
    progress.setAttribute('d', on ? op[PATH] : '');
    progress.setAttribute('class', 'progress of' + op[LAYER]);
    progress.setAttribute('pathLength', '1');
    progress.setAttribute('stroke-dasharray', f + ' 2');
    head.setAttribute('cx', at.x);
    head.setAttribute('cy', at.y);
    var lifted = on && liftedAt(op, f);
    head.setAttribute('class', on && !lifted ? 'head live' : 'head');
    index = i;
    by('now').textContent = done ? 'done' : partName(op) + ', ' + data.layers[op[LAYER]].toLowerCase() + (op[LAYER] === 2 ? ' ' + data.features[op[FEATURE]] : '') + ' (' + (i + 1) + ' of ' + n + ')';
    by('tool').textContent = done ? (data.process === 'knife' ? 'blade up' : 'beam off') : words(on, lifted, op);
    by('time').textContent = clock(now) + ' of ' + clock(deck.time);
    by('cut').textContent = metres(done ? deck.cut : cutBefore[i] + op[LENGTH] * f) + ' of ' + metres(deck.cut);
    by('rapid').textContent = metres(done ? deck.rapid : r.before + Math.hypot(r.to[0] - r.from[0], r.to[1] - r.from[1]) * g) + ' of ' + metres(deck.rapid);
    scrub.value = Math.round(now * 10);
    scrub.setAttribute('aria-valuetext', by('time').textContent + ', ' + by('now').textContent);
  }
  function step(d) {
    stop();
    if (d > 0) { set(index + 1 < start.length ? start[index + 1] : total); } else {
      set(now > start[index] + 1e-6 ? start[index] : start[Math.max(0, index - 1)]);
    }
  }

  function stop() {
    playing = false;
    by('play').textContent = 'Play';
    by('play').setAttribute('aria-pressed', 'false');
  }
  function play() {
    if (now >= total) { set(0); }
    playing = true;
    last = 0;
    by('play').textContent = 'Pause';
    by('play').setAttribute('aria-pressed', 'true');
    requestAnimationFrame(frame);
  }
  // frame advances the show. Where less motion is asked for, it goes from cut to
  // cut, two a second, and nothing glides.
  function frame(ms) {
    if (!playing) { return; }
    if (calm.matches) {
      if (!last || ms - last > 500) { last = ms; set(index + 1 < start.length ? start[index + 1] : total); }
    } else {
      if (last) { set(now + Math.min(0.1, (ms - last) / 1000) * Number(by('speed').value)); }
      last = ms;
    }
    if (now >= total) { stop(); } else { requestAnimationFrame(frame); }
  }

  by('play').addEventListener('click', function () { if (playing) { stop(); } else { play(); } });
  by('back').addEventListener('click', function () { step(-1); });
  by('next').addEventListener('click', function () { step(1); });
  scrub.addEventListener('input', function () { stop(); set(scrub.value / 10); });
  by('deck').addEventListener('change', function () { load(Number(by('deck').value)); });
  by('jump').addEventListener('change', function () { if (by('jump').value !== '') { stop(); set(start[Number(by('jump').value)]); } });
  by('player').addEventListener('keydown', function (e) {
    var tag = e.target.tagName;
    if (tag === 'SELECT') { return; }
    if (e.key === ' ' && tag !== 'BUTTON') { by('play').click(); }
    else if (e.key === 'ArrowRight' || e.key === 'ArrowUp') { step(1); }
    else if (e.key === 'ArrowLeft' || e.key === 'ArrowDown') { step(-1); }
    else if (e.key === 'Home') { stop(); set(0); }
    else if (e.key === 'End') { stop(); set(total); }
    else { return; }
    e.preventDefault();
  });
  data.sheets.forEach(function (s, k) { option(by('deck'), String(k), s.n + ' of ' + data.sheets.length); });
  load(0);
})();
