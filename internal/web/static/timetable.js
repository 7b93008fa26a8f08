// The drawn timetable by keyboard: one stop of the tab key, arrows from bar to bar.
// Without it the table below says the same.
'use strict';

(function theTimetable() {
  const drawing = document.querySelector('svg.tt');
  if (!drawing) return;
  const said = document.getElementById('tt-said');
  const middle = (bar) => bar.x.baseVal.value + bar.width.baseVal.value / 2;
  const rows = Array.from(drawing.querySelectorAll('.tt-row'), (row) =>
    Array.from(row.querySelectorAll('rect')).sort((a, b) => a.x.baseVal.value - b.x.baseVal.value)
  ).filter((row) => row.length > 0);
  if (rows.length === 0) return;

  const sheet = (bar) => bar.dataset.n && document.querySelector('#b' + bar.dataset.n + ' a');
  for (const row of rows) {
    const name = row[0].closest('.tt-row').querySelector('.tt-name').textContent;
    for (const bar of row) {
      bar.setAttribute('tabindex', '-1');
      bar.setAttribute('role', sheet(bar) ? 'link' : 'img');
      bar.setAttribute('aria-label', name + ', ' + bar.querySelector('title').textContent);
    }
  }
  drawing.setAttribute('role', 'group');
  drawing.setAttribute('aria-describedby', 'tt-help');
  drawing.parentElement.removeAttribute('tabindex'); // the bars are the stop now
  let now = rows[0][0];
  now.setAttribute('tabindex', '0');

  function go(bar) {
    now.setAttribute('tabindex', '-1');
    now = bar;
    now.setAttribute('tabindex', '0');
    now.focus();
  }

  function nearest(row) {
    const x = middle(now);
    return row.reduce((best, bar) => Math.abs(middle(bar) - x) < Math.abs(middle(best) - x) ? bar : best);
  }

  function open(bar) {
    const link = sheet(bar);
    if (link) link.click();
  }

  drawing.addEventListener('keydown', (ev) => {
    if (ev.altKey || ev.ctrlKey || ev.metaKey) return;
    const r = rows.findIndex((row) => row.includes(now));
    const row = rows[r];
    const i = row.indexOf(now);
    const to = {
      ArrowRight: () => row[i + 1], ArrowLeft: () => row[i - 1], Home: () => row[0], End: () => row[row.length - 1],
      ArrowDown: () => rows[r + 1] && nearest(rows[r + 1]), ArrowUp: () => rows[r - 1] && nearest(rows[r - 1]),
    }[ev.key];
    if (to) {
      ev.preventDefault();
      const bar = to();
      if (bar) go(bar);
    } else if (ev.key === 'Enter') {
      ev.preventDefault();
      open(now);
    }
  });
  drawing.addEventListener('focusin', (ev) => {
    const bar = ev.target;
    if (!bar.matches('.tt-row rect')) return;
    said.textContent = bar.getAttribute('aria-label') + '.';
    bar.scrollIntoView({ block: 'nearest', inline: 'nearest' });
  });
  drawing.addEventListener('click', (ev) => {
    const bar = ev.target.closest('.tt-row rect');
    if (bar) open(bar);
  });
})();
