// What is tapped is kept until it is taken in: a tablet counts its taps, sends them one
// after the other, and goes on when nobody hears. And at the scales: one line at a time,
// and a pot that is scanned turns it green or red.
'use strict';

(function theTaps() {
  if (!document.getElementById('taps')) return;
  const place = 'slabside-taps';
  const patience = 8000; // ms for an answer: longer, and nobody hears
  const hex = (n) => Array.from(crypto.getRandomValues(new Uint8Array(n)), (b) => b.toString(16).padStart(2, '0')).join('');
  let chain = Promise.resolve();
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
  const bar = () => document.getElementById('taps'); // another one after each refresh
  const who = () => bar().dataset.who;
  const mine = (s) => s.queue.filter((t) => t.by === who());

  function say(text) {
    const s = read();
    const n = mine(s).length;
    const rest = Array.from(new Set(s.queue.filter((t) => t.by !== who()).map((t) => t.by)));
    const lines = text ? [text] : [];
    if (n > 0) lines.push((n === 1 ? '1 tap waits' : n + ' taps wait') + (lostAt ? ' and will be sent. NOT LIVE since ' + lostAt.toTimeString().slice(0, 5) + ': go on, nothing is lost.' : '…'));
    for (const name of rest) lines.push('Taps of ' + name + ' wait until ' + name + ' signs in.');
    bar().hidden = lines.length === 0;
    bar().classList.toggle('lost', lostAt !== null || Boolean(text));
    bar().textContent = lines.join(' ');
  }

  async function post(tap, device) {
    const body = new URLSearchParams({ device, n: tap.n, at: tap.at, now: Date.now(), to: tap.to, form: tap.form });
    if (tap.late) body.set('late', '1');
    const answer = await fetch('/taps', { method: 'POST', body, signal: AbortSignal.timeout(patience) });
    const type = answer.headers.get('Content-Type') || '';
    return { ok: answer.ok, status: answer.status, said: type.startsWith('application/json') ? await answer.json() : null };
  }

  // flush sends the taps of whoever is signed in, one after the other, and returns the
  // answers by the taps' ids. A tap gets its number when it is sent first, and keeps it
  // until it is answered.
  async function flush() {
    const answers = new Map();
    for (;;) {
      let s = read();
      const tap = mine(s)[0];
      if (!tap) return answers;
      if (!tap.n) {
        tap.n = s.next;
        write(s);
      }
      let got = null;
      try {
        got = await post(tap, s.device);
      } catch { /* nobody hears */ }
      s = read(); // more may have been tapped meanwhile
      if (!got || !got.said) {
        for (const t of s.queue) t.late = true;
        write(s);
        if (got) answers.set('why', got.status === 401 ? 'Nobody is signed in.' : 'The program cannot take it now.');
        else lostAt = lostAt || new Date();
        return answers;
      }
      lostAt = null;
      s.next = got.said.next;
      if (!got.ok && got.said.field === 'tap') { // counted otherwise, as after a restored copy
        for (const t of s.queue) if (t.id === tap.id) t.n = s.next;
        write(s);
        continue;
      }
      s.queue = s.queue.filter((t) => t.id !== tap.id);
      write(s);
      answers.set(tap.id, got);
    }
  }

  // send sends after what is being sent, one window of the tablet at a time.
  function send() {
    chain = chain.then(() => navigator.locks ? navigator.locks.request(place, flush) : flush()).catch(() => new Map());
    return chain;
  }

  // tell says what became of taps that waited: nobody stands at their forms any more.
  function tell(answers, but) {
    let text = answers.get('why') || '';
    for (const [id, got] of answers) {
      if (id === 'why' || id === but) continue;
      if (got.said.noted) text = 'What was tapped could not be written as it was meant and is kept as a note: somebody reads it.';
      else if (!got.ok) text = 'A tap was refused: ' + got.said.text + '.';
    }
    say(text);
  }

  async function refresh() {
    const answer = await fetch(location.pathname + location.search, { signal: AbortSignal.timeout(patience) });
    if (!answer.ok || answer.redirected) return;
    const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
    if (!page.getElementById('taps')) return;
    document.getElementById('main').replaceChildren(...page.getElementById('main').childNodes);
    typed = false;
    document.dispatchEvent(new Event('refreshed'));
  }

  // late sends what waits and shows the page anew, unless somebody is typing.
  async function late() {
    const answers = await send();
    if (answers.size > 0 && !answers.has('why') && !typed) await refresh().catch(() => {});
    tell(answers);
  }

  document.addEventListener('submit', async (ev) => {
    const form = ev.target;
    if (!form.matches('form[data-tap]')) return;
    ev.preventDefault();
    const s = read();
    const tap = { id: hex(8), at: Date.now(), by: who(), to: new URL(form.action).pathname, form: new URLSearchParams(new FormData(form, ev.submitter)).toString(), late: lostAt !== null };
    s.queue.push(tap);
    write(s);
    typed = false;
    say();
    const answers = await send();
    const got = answers.get(tap.id);
    if (!got) {
      document.dispatchEvent(new CustomEvent('waits', { detail: form }));
    } else if (got.ok) {
      if (got.said.to) history.replaceState(null, '', got.said.to);
      await refresh().catch(() => document.dispatchEvent(new CustomEvent('waits', { detail: form })));
    } else {
      document.dispatchEvent(new CustomEvent('refused', { detail: { form, said: got.said } }));
    }
    tell(answers, got && !got.said.noted ? tap.id : '');
  });

  document.addEventListener('input', () => { typed = true; });
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
    const e = ev.detail.querySelector(':scope > .said') || document.createElement('p');
    e.dataset.n = Number(e.dataset.n || 0) + 1;
    e.className = 'said';
    e.textContent = e.dataset.n === '1' ? 'Waits to be sent.' : e.dataset.n + ' wait to be sent.';
    ev.detail.append(e);
  });
  setInterval(() => { if (mine(read()).length > 0) late(); }, 4000);
  say();
  if (mine(read()).length > 0) late();
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
    const wanted = line.querySelector('[name=instead]').value || line.dataset.ingredient;
    scannedAt = Date.now();
    try {
      const answer = await fetch('/api/v1/scan?' + new URLSearchParams({ ingredient: wanted, code }), { signal: AbortSignal.timeout(4000) });
      got = await answer.json();
      if (answer.status === 401) {
        line.querySelector('.said').textContent = 'Nobody is signed in: the pot was not looked up.';
        return;
      }
      if (!answer.ok) got = { right: false, says: got.faults && got.faults[0] ? got.faults[0].text + '. ' + got.faults[0].hint + '.' : got.detail };
    } catch { // nobody hears: our own numbers and the marks on this page are still known
      const pick = Array.from(line.querySelectorAll('.picks [name=lot]')).find((p) => wanted === line.dataset.ingredient && (p.value === code || p.dataset.mark === code));
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
    if (ev.target.value.trim()) scanned(ev.target.closest('.weigh-line'), ev.target.value.trim());
  });
  document.addEventListener('submit', (ev) => { // some scanners end a code twice: that is no word of the scale
    if (Date.now() - scannedAt > 500) return;
    ev.preventDefault();
    ev.stopImmediatePropagation();
  }, true);
  document.addEventListener('change', (ev) => {
    const other = ev.target.matches('.weigh-line [name=instead]');
    if (!other && !ev.target.matches('.picks [name=lot]')) return;
    const line = ev.target.closest('.weigh-line');
    if (!line.querySelector('[data-scan]')) return;
    line.classList.remove('right', 'wrong-pot');
    line.querySelector('.said').textContent = '';
    line.querySelector('[data-scan]').value = '';
    if (!other) return;
    for (const p of line.querySelectorAll('.picks [name=lot]')) p.checked = false;
    line.querySelector('.picks').hidden = ev.target.value !== ''; // its lots are those of the other
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
