// What is tapped is kept until it is taken in: a tablet counts its taps, sends them one
// after the other, and goes on when nobody hears. And at the scales: one line at a time,
// and a pot that is scanned turns it green or red.
'use strict';

(function theTaps() {
  if (!document.getElementById('taps')) return;
  const place = 'slabside-taps';
  const hex = (n) => Array.from(crypto.getRandomValues(new Uint8Array(n)), (b) => b.toString(16).padStart(2, '0')).join('');
  let sending = false;
  let lostAt = null;
  let typed = false; // something that is not sent yet, and must not be swept away

  function read() {
    try {
      const s = JSON.parse(localStorage.getItem(place));
      if (s && s.device && Array.isArray(s.queue)) return s;
    } catch { /* begin anew */ }
    return { device: 'tap-' + hex(8), next: 1, queue: [] };
  }
  const write = (s) => localStorage.setItem(place, JSON.stringify(s));

  // one at a time, over all windows of the tablet
  const alone = (fn) => navigator.locks ? navigator.locks.request(place, fn) : fn();

  function say() {
    const n = read().queue.length;
    const bar = document.getElementById('taps'); // another one after each refresh
    bar.hidden = n === 0;
    bar.classList.toggle('lost', lostAt !== null);
    bar.textContent = (n === 1 ? '1 tap waits' : n + ' taps wait') + (lostAt ? ' and will be sent. NOT LIVE since ' + lostAt.toTimeString().slice(0, 5) + ': go on, nothing is lost.' : '…');
  }

  async function post(tap, device) {
    const body = new URLSearchParams({ device, n: tap.n, at: tap.at, now: Date.now(), to: tap.to, form: tap.form });
    if (tap.late) body.set('late', '1');
    const answer = await fetch('/taps', { method: 'POST', body });
    const type = answer.headers.get('Content-Type') || '';
    return { ok: answer.ok, status: answer.status, said: type.startsWith('application/json') ? await answer.json() : null };
  }

  // flush sends what waits. It returns the answer to the last tap, or null if nobody hears.
  async function flush() {
    let last = null;
    for (;;) {
      const s = read();
      if (s.queue.length === 0) return last;
      const tap = s.queue[0];
      let got;
      try {
        got = await post(tap, s.device);
      } catch {
        s.queue.forEach((t) => { t.late = true; });
        write(s);
        lostAt = lostAt || new Date();
        return null;
      }
      if (!got.said) { // signed out, or a fault of the program: it waits
        s.queue.forEach((t) => { t.late = true; });
        write(s);
        return { ok: false, said: { text: got.status === 403 || got.status === 401 ? 'Nobody is signed in' : 'The program cannot take it', hint: 'It waits on this tablet' } };
      }
      lostAt = null;
      if (!got.ok && got.status === 409 && got.said.next !== tap.n && got.said.field === 'tap') { // counted otherwise, as after a restored copy
        s.queue.forEach((t, i) => { t.n = got.said.next + i; });
        s.next = got.said.next + s.queue.length;
        write(s);
        continue;
      }
      s.queue.shift();
      if (!got.ok) s.queue.forEach((t, i) => { t.n = got.said.next + i; }); // its number is free again
      s.next = got.said.next + s.queue.length;
      write(s);
      last = got;
    }
  }

  async function send() {
    if (sending) return null;
    sending = true;
    try {
      return await alone(flush);
    } finally {
      sending = false;
      say();
    }
  }

  async function refresh() {
    const answer = await fetch(location.pathname);
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
    document.getElementById('main').replaceChildren(...page.getElementById('main').childNodes);
    typed = false;
    say();
    document.dispatchEvent(new Event('refreshed'));
  }

  document.addEventListener('submit', async (ev) => {
    const form = ev.target;
    if (!form.matches('form[data-tap]')) return;
    ev.preventDefault();
    const to = new URL(form.action).pathname;
    const fields = new URLSearchParams(new FormData(form, ev.submitter)).toString();
    await alone(() => {
      const s = read();
      s.queue.push({ n: s.next, at: Date.now(), to, form: fields, late: s.queue.length > 0 });
      s.next += 1;
      write(s);
    });
    say();
    const got = await send();
    if (!got) {
      document.dispatchEvent(new CustomEvent('waits', { detail: form }));
    } else if (got.ok) {
      try { await refresh(); } catch { document.dispatchEvent(new CustomEvent('waits', { detail: form })); }
      if (got.said.noted) document.dispatchEvent(new CustomEvent('noted'));
    } else {
      document.dispatchEvent(new CustomEvent('refused', { detail: { form, said: got.said } }));
    }
  });

  document.addEventListener('input', () => { typed = true; });
  document.addEventListener('noted', () => {
    const bar = document.getElementById('taps');
    bar.hidden = false;
    bar.textContent = 'What was tapped could not be written as it was meant and is kept as a note in the record: somebody reads it.';
  });
  document.addEventListener('refused', (ev) => {
    const { form, said: why } = ev.detail;
    const text = [why.text, why.hint].filter(Boolean).join('. ') + '.';
    for (const e of form.querySelectorAll('[aria-invalid]')) e.removeAttribute('aria-invalid');
    for (const e of form.querySelectorAll('.field-error')) e.remove();
    const field = why.field && form.querySelector('[name="' + why.field + '"]');
    const line = form.closest('.weigh-line');
    if (line && form.querySelector('[data-scan]') && (why.field === 'code' || why.field === 'lot')) {
      line.classList.remove('right');
      line.classList.add('wrong-pot');
      line.querySelector('.said').textContent = '✗ ' + text;
    } else {
      const e = document.createElement('span');
      e.className = 'field-error';
      e.setAttribute('role', 'alert');
      e.textContent = text;
      (field ? field.parentElement : form).append(e);
    }
    if (!field) return;
    field.setAttribute('aria-invalid', 'true');
    const fold = field.closest('details');
    if (fold) fold.open = true;
    field.focus();
  });
  document.addEventListener('waits', (ev) => {
    if (ev.detail.closest('.weigh-line')) return; // the next line is shown
    const e = document.createElement('p');
    e.className = 'said';
    e.textContent = 'Waits to be sent.';
    ev.detail.append(e);
  });
  setInterval(() => { if (read().queue.length > 0) send().then((got) => { if (got && got.ok && !typed) return refresh(); return null; }).catch(() => {}); }, 4000);
  say();
  if (read().queue.length > 0) send();
})();

(function theScales() {
  const lines = () => Array.from(document.querySelectorAll('.weigh-line'));
  if (lines().length === 0) return;
  let shown = 0;
  let scannedAt = 0;

  function show(n, focus) {
    const all = lines();
    shown = Math.min(Math.max(n, 1), all.length);
    for (const l of all) l.hidden = Number(l.dataset.line) !== shown;
    for (const a of document.querySelectorAll('.weigh-steps a')) {
      if (a.getAttribute('href') === '#w-' + shown) a.setAttribute('aria-current', 'step');
      else a.removeAttribute('aria-current');
    }
    const line = document.getElementById('w-' + shown);
    const to = line.querySelector('[data-scan]') || line.querySelector('[name=mass]');
    if (focus && to) to.focus();
    if ('BarcodeDetector' in window && navigator.mediaDevices) for (const b of line.querySelectorAll('[data-camera]')) b.classList.remove('off');
  }

  const next = () => Number(document.getElementById('weighing').dataset.next) || lines().length;
  const said = (line, text, right) => {
    line.classList.toggle('right', right);
    line.classList.toggle('wrong-pot', !right);
    line.querySelector('.said').textContent = (right ? '✓ ' : '✗ ') + text;
  };

  async function scanned(line, code) {
    let got;
    scannedAt = Date.now();
    try {
      const answer = await fetch('/api/v1/scan?' + new URLSearchParams({ ingredient: line.dataset.ingredient, code }));
      got = await answer.json();
      if (!answer.ok) got = { right: false, says: got.faults && got.faults[0] ? got.faults[0].text + '. ' + got.faults[0].hint + '.' : got.detail };
    } catch { // nobody hears: our own numbers and the marks on this page are still known
      const pick = Array.from(line.querySelectorAll('.picks [name=lot]')).find((p) => p.value === code || p.parentElement.textContent.trim().startsWith(code + ' '));
      got = pick ? { right: true, lot: pick.value, says: 'lot ' + pick.value } : { right: false, says: 'NOT THIS POT, as far as this tablet knows while nobody hears.' };
    }
    scannedAt = Date.now();
    said(line, got.says, got.right);
    const input = line.querySelector('[data-scan]');
    for (const p of line.querySelectorAll('.picks [name=lot]')) p.checked = got.right && p.value === got.lot;
    if (got.right) line.querySelector('[name=mass]').focus();
    else input.select();
  }

  document.addEventListener('keydown', (ev) => {
    if (ev.key !== 'Enter' || !ev.target.matches('[data-scan]')) return;
    ev.preventDefault(); // a scanner ends a code by it
    if (ev.target.value.trim()) scanned(ev.target.closest('.weigh-line'), ev.target.value);
  });
  document.addEventListener('submit', (ev) => { // some scanners end a code twice: that is no word of the scale
    if (Date.now() - scannedAt > 500) return;
    ev.preventDefault();
    ev.stopImmediatePropagation();
  }, true);
  document.addEventListener('change', (ev) => {
    if (!ev.target.matches('.picks [name=lot]')) return;
    const line = ev.target.closest('.weigh-line');
    line.classList.remove('right', 'wrong-pot');
    line.querySelector('.said').textContent = '';
    line.querySelector('[data-scan]').value = '';
  });
  document.addEventListener('click', async (ev) => {
    const step = ev.target.closest('.weigh-steps a');
    if (step) {
      ev.preventDefault();
      show(Number(step.getAttribute('href').slice(3)), true);
      return;
    }
    const button = ev.target.closest('[data-camera]');
    if (!button) return;
    const line = button.closest('.weigh-line');
    const video = document.createElement('video');
    video.className = 'camera';
    video.muted = true;
    video.playsInline = true;
    let stream;
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment' } });
    } catch {
      said(line, 'The camera may not be used here.', false);
      return;
    }
    video.srcObject = stream;
    line.querySelector('.scan').append(video);
    await video.play();
    const eye = new window.BarcodeDetector();
    const until = Date.now() + 20000;
    (async function look() {
      const found = await eye.detect(video).catch(() => []);
      if (found.length === 0 && Date.now() < until && video.isConnected) return requestAnimationFrame(look);
      stream.getTracks().forEach((t) => t.stop());
      video.remove();
      if (found.length === 0) return null;
      line.querySelector('[data-scan]').value = found[0].rawValue;
      return scanned(line, found[0].rawValue);
    })();
  });
  document.addEventListener('refreshed', () => show(next(), true));
  document.addEventListener('waits', (ev) => {
    const line = ev.detail.closest('.weigh-line');
    if (!line) return;
    line.querySelector('.weigh-n').append(' · waits to be sent');
    show(shown + 1, true);
  });
  show(Number(location.hash.slice(3)) || next(), true);
})();
