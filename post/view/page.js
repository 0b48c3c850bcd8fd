(function () {
  'use strict';
  var NS = 'http://www.w3.org/2000/svg';
  var by = function (id) { return document.getElementById(id); };
  var calm = window.matchMedia('(prefers-reduced-motion: reduce)');

  // Units: every length that stands in both is turned to have the one first that is asked
  // for. It is kept, so that it is asked once.
  var kept = { get: function (k) { try { return localStorage.getItem(k); } catch (e) { return null; } },
    set: function (k, v) { try { localStorage.setItem(k, v); } catch (e) { /* not kept */ } } };
  var place = 'spotjig ' + document.title + ' ';
  // The file has mm first, in the forms of the command's own texts; what is measured with a
  // calliper or set on the machine stays.
  var lengths = new RegExp(('\\bin\\s+\\([^()]*mm\\)|N mm/(?:s|min)\\b|\\bmeasured,? N mm thick|\\bsold as N mm' +
    '|(-?N mm) \\((-?\\d+(?: \\d+/\\d+)? in|-?\\d+/\\d+ in)\\)|(\\d+(?:\\.\\d)?)( x | to )(\\d+(?:\\.\\d)?) mm\\b' +
    '|\\+-(N), \\+-(N) mm\\b|(\\+-|[+-]?)(N) mm\\b').replace(/N/g, '[0-9]+\\.[0-9]'), 'g');
  function inch(mm) {
    var n = Math.round(mm / 25.4 * 32), den = 32, num = n % 32, whole = Math.floor(n / 32);
    if (mm > 0 && mm < 6.35) { return (mm / 25.4).toFixed(3) + ' in'; }
    while (num > 0 && num % 2 === 0) { num /= 2; den /= 2; }
    return (num === 0 ? String(whole) : whole === 0 ? num + '/' + den : whole + ' ' + num + '/' + den) + ' in';
  }
  function bare(mm) { return inch(mm).slice(0, -3); }
  function inchesFirst(text) {
    return text.replace(lengths, function (all, mm, both, a, join, b, c, d, sign, one) {
      if (both) { return both + ' (' + mm + ')'; }
      if (a) { return bare(a) + join + inch(b) + ' (' + all + ')'; }
      if (c) { return '+-' + bare(c) + ', +-' + inch(d) + ' (' + c + ', ' + d + ' mm)'; }
      if (one) { return sign + inch(one) + ' (' + (sign === '+-' ? '' : sign) + one + ' mm)'; }
      return all;
    });
  }
  // What stands without its unit, by the class of where it stands.
  var bareLengths = [['.unit', function () { return 'inches'; }], ['.value', function (t) { return (t < 0 ? '-' : '') + bare(Math.abs(t)); }],
    ['.nums,.budget td', function (t) { return t.replace(/\d+(?:\.\d+)?/g, function (n) { return (n / 25.4).toFixed(3); }); }],
    ['.figures', function (t) { return / mm$/.test(t) ? t.replace(/[\d.]+/g, function (n) { return (n / 25.4).toFixed(3); }).replace(/mm$/, 'in') : t; }]];
  function turned(el, text) {
    var kind = bareLengths.filter(function (k) { return el.matches(k[0]); })[0];
    return kind ? kind[1](text) : inchesFirst(text);
  }
  var written = new WeakMap();
  function units(first) {
    var walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), n;
    while ((n = walk.nextNode())) {
      if (n.parentNode.closest('script,style,textarea,.machine,#dist')) { continue; }
      if (!written.has(n)) { written.set(n, n.nodeValue); }
      var is = first === 'in' ? turned(n.parentNode, written.get(n)) : written.get(n);
      if (is !== n.nodeValue) { n.nodeValue = is; }
    }
    document.body.dataset.units = first;
  }
  document.querySelectorAll('input[name="units"]').forEach(function (r) {
    r.addEventListener('change', function () { kept.set('spotjig units', r.value); units(r.value); gather(); if (by('dist-a')) { measure(); } });
  });
  function both(mm) {
    var metric = (Math.round(mm * 10) / 10).toFixed(1) + ' mm';
    return document.body.dataset.units === 'in' ? inch(mm) + ' (' + metric + ')' : metric + ' (' + inch(mm) + ')';
  }

  // At the table: one step at a time, kept where one was; what is read becomes text.
  var stepEls = Array.prototype.slice.call(document.querySelectorAll('.step')), stepNow = 0;
  function stepTo(i) {
    stepNow = Math.max(0, Math.min(stepEls.length - 1, i));
    stepEls.forEach(function (s, k) { s.classList.toggle('now', k === stepNow); });
    by('walk-at').textContent = (stepNow + 1) + ' of ' + stepEls.length;
    by('walk-back').disabled = stepNow === 0;
    by('walk-next').disabled = stepNow === stepEls.length - 1;
    kept.set(place + 'step', String(stepNow));
  }
  function walking(on) {
    document.body.classList.toggle('walking', on);
    by('walkbar').hidden = !on;
    by('all-steps').open = on;
    kept.set(place + 'walking', on ? 'yes' : 'no');
    if (on) { stepTo(stepNow); window.scrollTo(0, 0); by(stepNow === stepEls.length - 1 ? 'walk-back' : 'walk-next').focus(); } else { by('walk').focus(); }
  }
  function gather() {
    if (!by('readings-text')) { return; }
    var lines = [];
    stepEls.forEach(function (s) {
      var parts = [];
      s.querySelectorAll('input').forEach(function (f) {
        var v = f.value.trim();
        kept.set(place + f.id, v);
        if (!v) { return; }
        parts.push(f.dataset.word + ' ' + (/[a-z"']$/i.test(v) ? v : v + (document.body.dataset.units === 'in' ? ' in' : ' mm')));
      });
      if (parts.length) { lines.push(s.dataset.name + ': ' + parts.join(', ')); }
    });
    by('readings-text').value = lines.length ? lines.join('\n') + '\n' : '';
  }
  if (stepEls.length) {
    stepEls.forEach(function (s) {
      s.querySelectorAll('input').forEach(function (f) { f.value = kept.get(place + f.id) || ''; f.addEventListener('input', gather); });
    });
    stepNow = Math.max(0, Math.min(stepEls.length - 1, parseInt(kept.get(place + 'step') || '0', 10) || 0));
    by('walk').addEventListener('click', function () { walking(true); });
    by('walk-end').addEventListener('click', function () { walking(false); });
    by('walk-back').addEventListener('click', function () { stepTo(stepNow - 1); });
    by('walk-next').addEventListener('click', function () { stepTo(stepNow + 1); });
    by('copy').addEventListener('click', function () {
      var t = by('readings-text');
      t.select();
      var ok = document.execCommand('copy');
      by('copied').textContent = ok ? 'Copied.' : 'Mark the text and copy it by hand.';
    });
    by('save').addEventListener('click', function () {
      var a = document.createElement('a');
      a.href = URL.createObjectURL(new Blob([by('readings-text').value], { type: 'text/plain' }));
      a.download = 'readings.txt';
      a.click();
      setTimeout(function () { URL.revokeObjectURL(a.href); }, 1000);
    });
    by('forget').addEventListener('click', function () {
      stepEls.forEach(function (s) { s.querySelectorAll('input').forEach(function (f) { f.value = ''; }); });
      gather();
    });
  }
  var first = kept.get('spotjig units') || document.body.dataset.units || 'mm';
  document.querySelectorAll('input[name="units"]').forEach(function (r) { r.checked = r.value === first; });
  units(first);
  gather();
  if (stepEls.length && kept.get(place + 'walking') === 'yes') { walking(true); }

  // The distance between two marks: chosen from lists, or touched in the picture.
  var spots = Array.prototype.map.call(document.querySelectorAll('.place'), function (s) {
    return { name: s.dataset.name, x: Number(s.dataset.x), y: Number(s.dataset.y) };
  });
  var picked = [];
  function measure() {
    picked = [by('dist-a').value, by('dist-b').value].map(function (v) { return v === '' ? null : spots[Number(v)]; });
    var a = picked[0], b = picked[1];
    by('dist').textContent = a && b ? both(Math.hypot(a.x - b.x, a.y - b.y)) : a || b ? 'touch or choose another mark' : '';
    document.querySelectorAll('#plan svg.pic').forEach(function (svg) {
      var old = svg.querySelector('.span');
      if (old) { old.parentNode.removeChild(old); }
      var g = svg.querySelector('g[transform]');
      if (!g || !(a || b)) { return; }
      var at = a || b, to = b || a;
      var p = document.createElementNS(NS, 'path');
      p.setAttribute('class', 'span');
      p.setAttribute('d', 'M' + at.x + ' ' + at.y + 'L' + to.x + ' ' + (to.y + (at === to ? 0.01 : 0)));
      g.appendChild(p);
    });
  }
  if (by('dist-a')) {
    ['dist-a', 'dist-b'].forEach(function (id) {
      spots.forEach(function (s, i) {
        var o = document.createElement('option');
        o.value = String(i);
        o.textContent = s.name;
        by(id).appendChild(o);
      });
      by(id).addEventListener('change', measure);
    });
    by('plan').addEventListener('click', function (e) {
      var svg = e.target.closest('svg.pic'), g = svg && svg.querySelector('g[transform]');
      if (!g || moved) { return; }
      var m = g.getScreenCTM(), best = -1, least = 28;
      spots.forEach(function (s, i) {
        var d = Math.hypot(m.a * s.x + m.c * s.y + m.e - e.clientX, m.b * s.x + m.d * s.y + m.f - e.clientY);
        if (d < least) { least = d; best = i; }
      });
      if (best < 0) { return; }
      var a = by('dist-a'), b = by('dist-b');
      if (a.value === '' || b.value !== '') { a.value = String(best); b.value = ''; } else { b.value = String(best); }
      measure();
    });
  }

  // Zoom and pan of a picture: buttons, wheel with Ctrl, two fingers, drag when zoomed.
  var moved = false;
  document.querySelectorAll('.zoom').forEach(function (bar) {
    var box = by(bar.dataset.of);
    function shown() { return Array.prototype.filter.call(box.querySelectorAll('svg.pic'), function (s) { return getComputedStyle(s).display !== 'none'; })[0] || box.querySelector('svg.pic'); }
    function frameOf(s) { return (s.dataset.frame || s.getAttribute('viewBox')).split(' ').map(Number); }
    function zoom(k, cx, cy) {
      var s = shown(), v = s.getAttribute('viewBox').split(' ').map(Number);
      if (!s.dataset.frame) { s.dataset.frame = s.getAttribute('viewBox'); }
      var f = frameOf(s), w = Math.min(f[2], Math.max(f[2] / 12, v[2] / k)), h = w * f[3] / f[2];
      var px = cx === undefined ? v[0] + v[2] / 2 : cx, py = cy === undefined ? v[1] + v[3] / 2 : cy;
      put(s, f, px - (px - v[0]) * w / v[2], py - (py - v[1]) * h / v[3], w, h);
    }
    function put(s, f, x, y, w, h) {
      x = Math.max(f[0], Math.min(f[0] + f[2] - w, x));
      y = Math.max(f[1], Math.min(f[1] + f[3] - h, y));
      s.setAttribute('viewBox', [x, y, w, h].join(' '));
      s.classList.toggle('zoomed', w < f[2] * 0.999);
      if (w >= f[2] * 0.999) { s.setAttribute('viewBox', f.join(' ')); delete s.dataset.frame; }
    }
    function at(s, e) { var m = s.getScreenCTM(); return [(e.clientX - m.e) / m.a, (e.clientY - m.f) / m.d]; }
    bar.querySelector('.in').addEventListener('click', function () { zoom(1.6); });
    bar.querySelector('.out').addEventListener('click', function () { zoom(1 / 1.6); });
    bar.querySelector('.whole').addEventListener('click', function () { zoom(1e-6); });
    box.addEventListener('wheel', function (e) {
      if (!e.ctrlKey || !e.target.closest('svg.pic')) { return; }
      e.preventDefault();
      var p = at(shown(), e);
      zoom(e.deltaY < 0 ? 1.2 : 1 / 1.2, p[0], p[1]);
    }, { passive: false });
    var down = {}, gap = 0;
    box.addEventListener('pointerdown', function (e) {
      if (!e.target.closest('svg.pic')) { return; }
      down[e.pointerId] = e;
      moved = false;
      gap = 0;
    });
    box.addEventListener('pointermove', function (e) {
      var was = down[e.pointerId], s = shown();
      if (!was) { return; }
      var ids = Object.keys(down);
      if (ids.length === 2) {
        down[e.pointerId] = e;
        var a = down[ids[0]], b = down[ids[1]], d = Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);
        var p = at(s, { clientX: (a.clientX + b.clientX) / 2, clientY: (a.clientY + b.clientY) / 2 });
        if (gap > 0) { zoom(d / gap, p[0], p[1]); }
        gap = d;
        moved = true;
        return;
      }
      if (!s.classList.contains('zoomed') || Math.hypot(e.clientX - was.clientX, e.clientY - was.clientY) < 4 && !moved) { return; }
      var m = s.getScreenCTM(), v = s.getAttribute('viewBox').split(' ').map(Number);
      put(s, frameOf(s), v[0] - (e.clientX - was.clientX) / m.a, v[1] - (e.clientY - was.clientY) / m.d, v[2], v[3]);
      down[e.pointerId] = e;
      moved = true;
    });
    ['pointerup', 'pointercancel', 'pointerleave'].forEach(function (k) { box.addEventListener(k, function (e) { delete down[e.pointerId]; gap = 0; }); });
  });

  // Switches of the table picture.
  by('switches').addEventListener('change', function (e) {
    by('plan').classList.toggle('no-' + e.target.dataset.layer, !e.target.checked);
    if (e.target.dataset.layer === 'dims') {
      by('plan').querySelectorAll('svg[data-full]').forEach(function (s) { delete s.dataset.frame; s.classList.remove('zoomed'); s.setAttribute('viewBox', e.target.checked ? s.dataset.full : s.dataset.plain); });
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
    var fold = button.closest('details');
    if (fold) { fold.open = true; }
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
