// While a tap waits: bags that follow go into the lot that the first will begin, and what
// to do about a trouble is shown though nobody hears.
'use strict';

(function afterTaps() {
  let pressed = null;
  let what = '';
  document.addEventListener('submit', (ev) => {
    const b = ev.submitter;
    what = b && b.name === 'what' ? b.value : '';
    pressed = b && b.name && b.closest('.presses') ? '.presses button[name="' + b.name + '"][value="' + b.value + '"]' : null;
  }, true);
  document.addEventListener('refreshed', () => {
    const b = pressed && document.querySelector(pressed);
    if (b) b.focus();
  });
  document.addEventListener('waits', (ev) => {
    for (const e of document.querySelectorAll('#station form[data-tap] [name=new]')) e.remove();
    const lines = what && document.querySelector('template[data-now="' + CSS.escape(what) + '"]');
    if (!lines || document.querySelector('.now-do[data-of="' + CSS.escape(what) + '"]')) return;
    ev.detail.before(lines.content.cloneNode(true));
    const shown = document.querySelector('.now-do[data-of="' + CSS.escape(what) + '"]');
    shown.tabIndex = -1;
    shown.focus();
  });
})();
