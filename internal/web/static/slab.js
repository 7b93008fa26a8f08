// At the slab: the clocks count by the program's time, alarms hang on the times that the
// page holds and on nothing that has to stay open, one key says next, held it says
// trouble. When nobody hears, all of it goes on, and what is tapped waits (taps.js).
'use strict';

(function atTheSlab() {
  const el = (id) => document.getElementById(id);
  const root = () => el('slab');
  if (!root()) return;
  const beats = 35000; // ms without a word, and the program is not there
  const all = (sel) => Array.from(document.querySelectorAll(sel));

  // The clock of the program. What it says is older by its way here, so the sample that
  // makes it latest is the best one.
  let samples = [];
  let steps = Date.now() - performance.now(); // jumps when somebody sets this clock
  function heardAt(ms) {
    const jump = Date.now() - performance.now() - steps;
    if (Math.abs(jump) > 500) samples = [];
    steps += jump;
    samples = samples.concat(ms - Date.now()).slice(-8);
  }
  const now = () => Date.now() + (samples.length ? Math.max(...samples) : 0);
  heardAt(Number(root().dataset.now));
  const format = (more) => new Intl.DateTimeFormat('en-GB', { hour: 'numeric', minute: '2-digit', hourCycle: 'h23', timeZone: root().dataset.zone, ...more });
  const clock = format({});
  const exact = format({ second: '2-digit' });

  function until(ms) {
    const s = Math.round(Math.abs(ms) / 1000);
    const text = s >= 3600 ? Math.floor(s / 3600) + ' h ' + String(Math.floor(s / 60) % 60).padStart(2, '0') : Math.floor(s / 60) + ':' + String(s % 60).padStart(2, '0');
    return ms < 0 && s > 0 ? text + ' late' : 'in ' + text;
  }

  // What was tapped here and is not answered yet stands in the queue of the tablet.
  function waiting() {
    try {
      const who = el('taps') ? el('taps').dataset.who : '';
      return JSON.parse(localStorage.getItem('slabside-taps')).queue.filter((t) => t.to === location.pathname && t.by === who)
        .map((t) => ({ at: t.at, back: new URLSearchParams(t.form).get('act') === 'back', what: new URLSearchParams(t.form).get('what') }));
    } catch {
      return [];
    }
  }
  function tapped() {
    let list = [];
    for (const t of waiting()) {
      const i = t.back ? list.findLastIndex((x) => x.what === t.what) : -1;
      if (i >= 0) list.splice(i, 1);
      else if (!t.back) list.push(t);
    }
    return list;
  }

  // show brings the panel of what is next to the front, and the keys that go with it.
  function show() {
    const d = root().dataset;
    if (d.events === undefined || d.blocked !== undefined) return;
    const mine = tapped();
    const done = new Set((d.done || '').split(',').concat(mine.map((t) => t.what)));
    const panels = all('.slab-step[data-tap]');
    const last = panels.findLastIndex((p) => mine.some((t) => t.what === p.dataset.tap));
    const front = panels[last + 1];
    for (const p of panels) p.hidden = p !== front;
    for (const b of all('[data-bar]')) b.hidden = !front || b.dataset.bar !== front.dataset.tap;
    if (el('slab-all')) el('slab-all').hidden = Boolean(front);
    for (const f of all('[data-after]')) f.hidden = !(done.has(f.dataset.after) && !done.has(f.dataset.before));
    for (const f of all('[data-once]')) f.hidden = done.has(f.dataset.once) || panels.findIndex((p) => p.dataset.tap === f.dataset.once) <= last + 1;
    const undo = el('slab-undo');
    const t = mine[mine.length - 1];
    if (!undo || !t) return;
    const of = panels.find((p) => p.dataset.tap === t.what);
    const key = all('.slab-early form[data-after]').find((f) => f.querySelector('[name=what]').value === t.what);
    undo.querySelector('[name=what]').value = t.what;
    el('slab-undo-what').textContent = (of ? of.dataset.verb : key ? key.textContent.trim() : t.what) + ', ' + clock.format(t.at + now() - Date.now());
    undo.hidden = false;
  }
  const panel = () => all('.slab-step').find((p) => !p.hidden);

  // Live or not.
  let source = null;
  let last = performance.now(); // when it was heard
  let lastAt = now();
  let broken = 0;
  let tried = 0;
  let missed = false;
  let signedOut = false;
  const live = () => performance.now() - last < beats && !(broken && performance.now() - broken > 3000);

  function heard() {
    last = performance.now();
    lastAt = now();
    broken = 0;
  }
  function told(ev) {
    const news = JSON.parse(ev.data);
    heardAt(news.now);
    heard();
    if (missed || news.act !== Number(root().dataset.act)) soon(0);
    else if (ev.type === 'news') soon(5000);
    missed = false;
  }
  function listen() {
    if (!root().dataset.events) return;
    tried = performance.now();
    if (source) source.close();
    source = new EventSource(root().dataset.events);
    source.addEventListener('beat', told);
    source.addEventListener('news', told);
    source.onerror = () => { broken = broken || performance.now(); };
  }
  // An EventSource gives up for good on any answer that is not 200, and one on a dead line
  // waits for ever.
  function watch() {
    if (!root().dataset.events) return;
    if (!live()) missed = true;
    const dead = source.readyState === EventSource.CLOSED || performance.now() - last > beats;
    if (dead && performance.now() - tried > 4000) listen();
  }

  // The page as the program has it now; what is being pressed or typed is not swept away.
  let held = 0; // pointers and keys that are down
  let heldAt = 0;
  let due = Infinity; // when to look again
  let looked = performance.now();
  const reading = { touched: false };
  const folds = new Map();
  const soon = (ms) => { due = Math.min(due, Math.max(performance.now(), looked + ms)); };
  async function look() {
    looked = performance.now();
    due = Infinity;
    try {
      const answer = await fetch(location.pathname, { signal: AbortSignal.timeout(8000) });
      signedOut = answer.redirected && answer.url.includes('/sign-in');
      if (!answer.ok || answer.redirected) return;
      const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
      const main = page.getElementById('main');
      if (!page.getElementById('slab')) return;
      if (held > 0) {
        soon(300);
        return;
      }
      if (!source) heard();
      el('main').replaceChildren(...main.childNodes);
      document.dispatchEvent(new Event('refreshed'));
    } catch { /* nobody hears: the watch says so */ }
  }

  // Alarms: at ten seconds before what cannot wait, of this batch and of the others.
  let audio = null;
  let beeped = 0;
  let rang = '';
  function alarms() {
    const at = now();
    const out = [];
    const of = panel();
    for (const e of (of ? [of] : []).concat(all('.slab-tab'))) {
      const when = Number(e.dataset.due);
      if (e.dataset.loud === undefined || !when || at < when - 10000 || at > Math.max(when + 120000, Number(e.dataset.until) || 0)) continue;
      out.push({ when, verb: e.dataset.verb, name: e.dataset.name || '', href: e.getAttribute('href') });
    }
    return out;
  }
  function ring() {
    const on = alarms();
    const of = panel();
    const bar = el('slab-alarm');
    if (!bar) return;
    const key = on.map((a) => a.name + a.verb + a.when).join();
    if (key !== rang) { // said once, not every tick
      bar.replaceChildren(...on.map((a) => {
        const e = document.createElement(a.href ? 'a' : 'span');
        if (a.href) e.href = a.href;
        e.textContent = (a.name ? a.name + ': ' : '') + a.verb;
        return e;
      }));
      bar.classList.toggle('vh', on.every((a) => !a.href)); // of this batch the whole page says it
      rang = key;
    }
    bar.hidden = on.length === 0;
    el('slab-edge').hidden = on.length === 0;
    if (of) of.classList.toggle('rings', on.some((a) => !a.href));
    if (on.some((a) => now() - a.when < 60000) && now() - beeped > 2000) {
      beeped = now();
      beep();
    }
  }
  function beep() {
    if (!audio || audio.state !== 'running') return;
    for (const [i, pitch] of [880, 1175, 880].entries()) {
      const t = audio.currentTime + i * 0.22;
      const tone = audio.createOscillator();
      const gain = audio.createGain();
      tone.type = 'square';
      tone.frequency.value = pitch;
      gain.gain.setValueAtTime(0.0001, t);
      gain.gain.exponentialRampToValueAtTime(0.5, t + 0.02);
      gain.gain.exponentialRampToValueAtTime(0.0001, t + 0.18);
      tone.connect(gain).connect(audio.destination);
      tone.start(t);
      tone.stop(t + 0.2);
    }
  }
  function hearable() { // a browser lets nothing sound before somebody has touched the page
    try {
      audio = audio || new AudioContext();
      if (audio.state !== 'running') audio.resume();
    } catch { /* none here: the notes say so */ }
  }

  // The screen must not go dark.
  let lock = null;
  let dark = 'wakeLock' in navigator ? '' : 'This browser cannot keep the screen awake';
  async function awake() {
    if (!('wakeLock' in navigator) || document.visibilityState !== 'visible' || (lock && !lock.released)) return;
    try {
      lock = await navigator.wakeLock.request('screen');
      dark = '';
    } catch {
      dark = 'The screen may go dark';
    }
  }

  function notes() {
    const out = [];
    if (!audio || audio.state !== 'running') out.push('Sound is off: touch the page once.');
    if (dark) out.push(dark + ': keep it awake in the tablet’s settings.');
    return out.join(' ');
  }
  const put = (e, text) => { if (e && e.textContent !== text) e.textContent = text; };

  function tick() {
    const at = now();
    for (const e of all('[data-count]')) put(e, until(Number(e.dataset.count) - at));
    const p = panel();
    if (p && p.dataset.due) {
      const d = Number(p.dataset.due);
      p.classList.toggle('is-due', d > 0 && at >= d);
      p.classList.toggle('is-late', d > 0 && at > Math.max(d, Number(p.dataset.late) || 0));
      p.classList.toggle('is-over', Number(p.dataset.until) > 0 && at > Number(p.dataset.until));
    }
    for (const l of all('[data-line]')) {
      const d = l.dataset;
      const part = (at - Number(d.from)) / (Number(d.to) - Number(d.from));
      l.classList.toggle('off', part < 0 || part > 1);
      if (part >= 0 && part <= 1) l.setAttribute('transform', 'translate(' + (Number(d.x0) + part * (Number(d.x1) - Number(d.x0))).toFixed(1) + ' 0)');
    }
    states(at);
    lost(at);
    put(el('slab-notes'), notes());
    ring();
    if (held > 0 && performance.now() - heldAt > 5000) held = 0; // one was let go where nobody saw it
    if (due <= performance.now() && held === 0) look();
  }

  // What it is in goes on by the times of the page.
  function states(at) {
    const e = el('slab-state');
    if (!e || !['too soft', 'in condition', 'gone short'].includes(e.dataset.state) || !(Number(e.dataset.opens) > 0)) return;
    const is = at < Number(e.dataset.opens) ? 'too soft' : at < Number(e.dataset.closes) ? 'in condition' : 'gone short';
    if (is === e.textContent) return;
    e.textContent = is;
    const mark = all('.slab-legend .slab-mark')[['too soft', 'in condition', 'gone short'].indexOf(is)];
    if (mark) el('slab-mark').replaceChildren(mark.cloneNode(true));
  }
  function lost(at) {
    const d = root().dataset;
    const e = el('slab-lost');
    let text = '';
    if (!live()) text = 'NOT LIVE since ' + clock.format(lastAt) + '. Clocks and alarms go on, taps wait and are sent. Read the glass itself.';
    else if (d.read && at - Number(d.read) > Number(d.gap)) text = 'NOT LIVE: no reading since ' + clock.format(Number(d.read)) + '. Read the glass itself.';
    else if (signedOut) text = 'Nobody is signed in: what is tapped waits until somebody does.';
    if (e) {
      put(e, text);
      e.hidden = !text;
    }
    put(el('slab-live'), (live() ? 'Live, ' : 'NOT LIVE, ') + exact.format(at));
  }

  // One key: pressed it is next, held for a second it is trouble.
  let down = 0;
  let hold = 0;
  const isKey = (ev) => ev.key === ' ' && (ev.target === document.body || ev.target.closest('.next') || !ev.target.closest('a, button, input, select, textarea, summary, label'));
  function release() {
    if (!down) return false;
    clearTimeout(hold);
    const short = performance.now() - down < 1000;
    down = 0;
    held = Math.max(0, held - 1);
    if (el('slab-hold')) el('slab-hold').hidden = true;
    return short;
  }
  document.addEventListener('keydown', (ev) => {
    hearable();
    if (!isKey(ev) || !root().dataset.trouble) return;
    ev.preventDefault();
    if (ev.repeat || down) return;
    down = performance.now();
    held++;
    heldAt = performance.now();
    el('slab-hold').hidden = false;
    hold = setTimeout(trouble, 1000);
  });
  document.addEventListener('keyup', (ev) => {
    if (ev.key !== ' ' || !down) return;
    ev.preventDefault();
    if (!release()) return;
    const form = document.querySelector('.slab-bar:not([hidden]) form[data-next]');
    if (form) form.requestSubmit();
  });
  window.addEventListener('blur', release);
  function trouble() {
    release();
    if (live()) {
      location.href = root().dataset.trouble;
      return;
    }
    el('slab-trouble').hidden = false;
    el('slab-trouble').scrollIntoView();
  }

  // A pedal that bounces, a glove that slips: the next step is not done a moment later.
  let nextAt = -Infinity;
  document.addEventListener('submit', (ev) => {
    if (!ev.target.matches('form[data-next]')) return;
    if (performance.now() - nextAt < 1200) {
      ev.preventDefault();
      ev.stopImmediatePropagation();
      return;
    }
    nextAt = performance.now();
  }, true);
  document.addEventListener('submit', (ev) => {
    if (!ev.target.matches('form[data-tap]')) return;
    if (ev.target.id === 'slab-read') reading.touched = false;
    show();
    tick();
    scrollTo(0, 0);
  });

  // Steppers, and what was set on them through a refresh.
  const value = () => el('read-value');
  const mark = () => document.querySelector('.stepper').dataset.mark;
  function step(by) {
    const glass = document.querySelector('#slab-read [name=glass]:checked, #slab-read [name=glass][type=hidden]');
    const size = Number((glass && glass.dataset.step) || document.querySelector('.stepper').dataset.step) || 1;
    const was = Number(value().value.replace(',', '.').replace(/[^0-9.-]/g, ''));
    const n = (Math.round(was / size) + by) * size;
    const places = (String(size).split('.')[1] || '').length;
    value().value = n.toFixed(places).replace('.', mark());
    keep();
  }
  function keep() {
    const at = document.querySelector('#slab-read [name=at]:checked');
    const glass = document.querySelector('#slab-read [name=glass]:checked');
    Object.assign(reading, { touched: true, value: value().value, at: at && at.value, glass: glass && glass.value });
  }
  let repeat = 0;
  const still = () => { clearTimeout(repeat); clearInterval(repeat); repeat = 0; };
  let ran = false;
  document.addEventListener('pointerdown', (ev) => {
    hearable();
    held++;
    heldAt = performance.now();
    const b = ev.target.closest('[data-by]');
    ran = false;
    if (!b) return;
    repeat = setTimeout(() => {
      ran = true;
      repeat = setInterval(() => step(Number(b.dataset.by)), 130);
    }, 500);
  });
  for (const end of ['pointerup', 'pointercancel']) {
    document.addEventListener(end, () => {
      held = Math.max(0, held - 1);
      still();
      // What was touched keeps no focus: the pedal's space is next and not the key of before.
      setTimeout(() => {
        const a = document.activeElement;
        if (a && a.matches('button, a, summary, input[type=radio]')) a.blur();
      }, 0);
    });
  }
  document.addEventListener('click', (ev) => {
    const b = ev.target.closest('[data-by]');
    if (b && !ran) step(Number(b.dataset.by));
    ran = false;
    if (!live() && ev.target.closest('.trouble-key')) {
      ev.preventDefault();
      trouble();
    }
  });
  document.addEventListener('input', (ev) => {
    if (!ev.target.closest('#slab-read')) return;
    if (ev.target.name === 'at' && !reading.touched) value().value = ev.target.dataset.start;
    else keep();
  });
  document.addEventListener('toggle', (ev) => { if (ev.target.dataset && ev.target.dataset.key) folds.set(ev.target.dataset.key, ev.target.open); }, true);

  function begin() {
    for (const b of all('[data-by]')) b.classList.remove('off');
    for (const d of all('details[data-key]')) if (folds.has(d.dataset.key)) d.open = folds.get(d.dataset.key);
    if (reading.touched && value()) {
      value().value = reading.value;
      for (const i of all('#slab-read [type=radio]')) i.checked = i.value === reading[i.name];
    }
    rang = '';
    show();
    tick();
  }
  document.addEventListener('refreshed', () => {
    heardAt(Number(root().dataset.now));
    looked = performance.now();
    begin();
  });
  document.addEventListener('waits', show);
  document.addEventListener('refused', () => { nextAt = -Infinity; show(); });
  window.addEventListener('storage', show);
  document.addEventListener('visibilitychange', () => { awake(); if (document.visibilityState === 'visible') soon(0); });
  begin();
  listen();
  awake();
  setInterval(tick, 250);
  setInterval(watch, 1000);
  setInterval(() => soon(20000), 5000);
})();
