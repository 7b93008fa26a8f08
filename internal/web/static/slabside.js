// What script adds to pages that work without it: the next act and the now-line
// on the day itself, and the plan that follows while lines are typed.
'use strict';

(function theDay() {
  const row = document.querySelector('[data-today]');
  const line = document.getElementById('now-line');
  if (!row) return;
  const items = Array.from(row.querySelectorAll('.clock li'));
  const at = (id) => document.getElementById(id);
  const when = (li) => Date.parse(li.querySelector('time').dateTime);
  const done = at('done').querySelector('ol'); // what is past is folded away

  function tick() {
    const now = Date.now();
    const next = items.find((li) => when(li) >= now);
    for (const li of items) {
      const past = when(li) < now;
      li.classList.toggle('is-past', past);
      li.classList.toggle('is-next', li === next);
      if (past && next && li.parentElement.id === 'to-come') done.append(li);
    }
    at('done').hidden = done.children.length === 0;
    at('done-n').textContent = done.children.length;
    if (next) {
      const time = next.querySelector('time');
      const link = next.querySelector('a');
      at('next-h').textContent = 'Next';
      at('next-verb').textContent = next.dataset.verb;
      at('next-time').textContent = time.textContent;
      at('next-time').setAttribute('datetime', time.getAttribute('datetime'));
      at('next-text').textContent = next.querySelector('.what').textContent;
      at('next-link').classList.toggle('off', !link);
      if (link) at('next-link').setAttribute('href', link.getAttribute('href'));
      const min = Math.ceil((when(next) - now) / 60000);
      at('next-in').textContent = min <= 0 ? 'now' : min < 60 ? 'in ' + min + ' min' : 'in ' + Math.floor(min / 60) + ' h ' + (min % 60) + ' min';
    } else if (items.length) {
      at('next-h').textContent = 'The day is done';
    }
    at('next-in').classList.toggle('off', !next);
    if (line) {
      const d = line.dataset;
      const part = (now - Number(d.from)) / (Number(d.to) - Number(d.from));
      const inside = part >= 0 && part <= 1;
      line.classList.toggle('off', !inside);
      if (inside) {
        const x = Number(d.x0) + part * (Number(d.x1) - Number(d.x0));
        line.setAttribute('transform', 'translate(' + x.toFixed(1) + ' 0)');
      }
    }
  }
  tick();
  setInterval(tick, 15000);
})();

(function theLines() {
  const form = document.getElementById('lines');
  const follows = document.getElementById('follows');
  if (!form || !follows) return;
  let timer = 0;
  let running = null;

  // ask sends the form as it stands and returns the page the server makes of it.
  async function ask(act) {
    if (running) running.abort();
    running = new AbortController();
    const body = new URLSearchParams(new FormData(form));
    body.set('act', act);
    const answer = await fetch(form.getAttribute('action'), { method: 'POST', body, signal: running.signal });
    return new DOMParser().parseFromString(await answer.text(), 'text/html');
  }

  function lost() {
    follows.classList.remove('waiting');
    const p = document.createElement('p');
    p.className = 'wrong';
    p.textContent = 'NOT LIVE since ' + new Date().toTimeString().slice(0, 5) + ': the program does not answer. What you typed is still here.';
    follows.replaceChildren(p);
  }

  function show(page) {
    const part = page.getElementById('follows');
    if (!part) return lost();
    follows.classList.remove('waiting');
    follows.replaceChildren(...part.childNodes);
  }

  function follow() {
    follows.classList.add('waiting');
    ask('try').then(show).catch((err) => { if (err.name !== 'AbortError') lost(); });
  }

  form.addEventListener('input', () => {
    clearTimeout(timer);
    timer = setTimeout(follow, 350);
  });

  // A button that keeps nothing changes the form in place.
  form.addEventListener('submit', (ev) => {
    const act = ev.submitter ? ev.submitter.value : '';
    if (act !== 'try' && act !== 'add' && !act.startsWith('out.')) return;
    ev.preventDefault();
    clearTimeout(timer);
    const was = document.activeElement ? document.activeElement.id : '';
    ask(act).then((page) => {
      const fresh = page.getElementById('lines');
      if (!fresh) return lost();
      form.replaceChildren(...fresh.childNodes);
      show(page);
      const selects = form.querySelectorAll('select');
      const to = act === 'add' ? selects[selects.length - 1]
        : act === 'try' ? form.querySelector('[aria-invalid]') || document.getElementById(was)
        : document.getElementById('add-line');
      if (to) to.focus();
    }).catch((err) => { if (err.name !== 'AbortError') lost(); });
  });
})();

// The workbench of a recipe: every figure follows what is typed.
(function theBench() {
  const form = document.getElementById('bench');
  const figures = document.getElementById('figures');
  if (!form || !figures) return;
  let timer = 0;
  let running = null;

  // address is that of the page with what is typed, without what stands as it was.
  function address() {
    const v = new URLSearchParams();
    for (const [name, text] of new FormData(form)) {
      const field = form.elements[name];
      if (text !== '' && (field.dataset.kept === undefined || text !== field.dataset.kept)) v.set(name, text);
      else if (text === '' && field.dataset.kept) v.set(name, '');
    }
    const query = v.toString();
    return form.getAttribute('action') + (query ? '?' + query : '');
  }

  // folds lists what can be folded with what it is known by: its key, or else its place
  // among those without one.
  function folds(of) {
    let n = 0;
    return Array.from(of.querySelectorAll('details')).map((d) => [d, d.dataset.key || String(n++)]);
  }

  function show(page) {
    const fresh = page.getElementById('figures');
    if (!fresh) throw new Error('no figures');
    const open = new Set(folds(figures).filter(([d]) => d.open).map(([, key]) => key));
    figures.replaceChildren(...fresh.childNodes);
    for (const [d, key] of folds(figures)) d.open = open.has(key);
    document.getElementById('tried').replaceChildren(...page.getElementById('tried').childNodes);
    for (const part of form.querySelectorAll('[data-live]')) {
      const now = page.getElementById(part.id);
      if (now) part.replaceChildren(...now.childNodes);
      const input = part.parentElement.querySelector('input, select');
      if (part.querySelector('.field-error')) input.setAttribute('aria-invalid', 'true');
      else input.removeAttribute('aria-invalid');
    }
    figures.classList.remove('waiting');
  }

  function follow() {
    if (running) running.abort();
    const mine = running = new AbortController();
    const to = address();
    figures.classList.add('waiting');
    fetch(to, { signal: mine.signal })
      .then((answer) => answer.text())
      .then((text) => {
        show(new DOMParser().parseFromString(text, 'text/html'));
        history.replaceState(null, '', to);
      })
      .catch((err) => {
        if (err.name === 'AbortError') return;
        figures.classList.remove('waiting');
        const p = document.createElement('p');
        p.className = 'wrong';
        p.textContent = 'NOT LIVE since ' + new Date().toTimeString().slice(0, 5) + ': the program does not answer. What you typed is still here.';
        figures.prepend(p);
      })
      .finally(() => { if (running === mine) running = null; });
  }

  // A key after a rest is followed at once; one that comes before the answer to the last
  // waits a little for the next, so that fast typing asks once.
  form.addEventListener('input', () => {
    clearTimeout(timer);
    timer = setTimeout(follow, running ? 20 : 0);
  });
  form.addEventListener('submit', (ev) => {
    ev.preventDefault();
    clearTimeout(timer);
    follow();
  });
})();

(function theWrong() {
  const wrong = document.getElementById('wrong');
  if (wrong) wrong.focus();
})();
