'use strict';
(() => {
  const form = document.getElementById('filter'), names = ['type', 'variable', 'outcome', 'verdict'];
  const boxes = [...form.querySelectorAll('input')], status = form.querySelector('output');
  const figures = [...document.querySelectorAll('.f')].map(el => ({el, key: el.id.split('/'), verdicts: el.dataset.v.split(' '), panels: [...el.querySelectorAll('figure')]}));
  const byID = new Map(figures.map(f => [f.el.id, f]));
  const rows = [...document.querySelectorAll('tr[data-f]')], types = [...document.querySelectorAll('[data-t]')];
  const bar = () => getComputedStyle(form).position === 'sticky' ? form.offsetHeight : 0;

  // show hides what is not chosen, and keeps what is read where it is.
  const show = () => {
    const want = Object.fromEntries(names.map(n => [n, form[n].value]));
    const on = boxes.map(b => b.checked);
    const anchors = [...document.querySelectorAll('.f, main > section')].filter(e => e.offsetParent && e.getBoundingClientRect().bottom > bar() + 1);
    const before = anchors.map(e => e.getBoundingClientRect().top);
    on.forEach((yes, i) => document.body.classList.toggle('no' + i, !yes));
    document.body.classList.toggle('one', want.type !== '*');
    let n = 0;
    for (const f of figures) {
      const panel = f.verdicts.map((v, i) => on[i] && (want.verdict === '*' || v === want.verdict));
      f.shown = ['type', 'variable', 'outcome'].every((k, i) => want[k] === '*' || want[k] === f.key[i]) && panel.some(Boolean);
      f.panels.forEach((p, i) => { p.hidden = !panel[i]; });
      f.el.hidden = !f.shown;
      n += f.shown;
    }
    for (const r of rows) r.hidden = !byID.get(r.dataset.f).shown;
    for (const s of types) s.hidden = !s.querySelector('.f:not([hidden])');
    for (const d of document.querySelectorAll('.fold')) {
      d.hidden = !d.querySelector('.f:not([hidden])');
      if (want.verdict === 'inconclusive' || want.verdict === 'too_few') d.open = true;
    }
    for (const x of document.querySelectorAll('.board')) x.hidden = !x.querySelector('tbody tr:not([hidden])');
    document.documentElement.style.scrollPaddingTop = bar() + 12 + 'px';
    status.value = n === figures.length ? n + ' figures' : n + ' of ' + figures.length + ' figures';
    const i = window.scrollY > 0 ? anchors.findIndex(e => e.offsetParent) : -1;
    if (i >= 0) window.scrollBy(0, anchors[i].getBoundingClientRect().top - before[i]);
  };

  // write puts the choice into the address: type/quality/outcome/matchups/verdict.
  const write = () => {
    const m = boxes.every(b => b.checked) ? '*' : boxes.filter(b => b.checked).map(b => b.value).join(',') || '-';
    const parts = [form.type.value, form.variable.value, form.outcome.value, m, form.verdict.value];
    while (parts.length && parts.at(-1) === '*') parts.pop();
    history.replaceState(null, '', parts.length ? '#' + parts.join('/') : location.pathname + location.search);
  };

  // read takes a choice from the address, and goes to what it names.
  const read = () => {
    let hash;
    try { hash = decodeURIComponent(location.hash.slice(1)); } catch { return; }
    const parts = hash.split('/'), has = (n, v) => [...form[n].options].some(o => o.value === v);
    const target = document.getElementById(hash) || document.getElementById(parts.slice(0, 3).join('/')) || document.getElementById(parts[0]);
    if (parts[0] && has('type', parts[0])) {
      const chosen = [parts[0], parts[1], parts[2], parts[4]];
      names.forEach((n, i) => { form[n].value = chosen[i] && has(n, chosen[i]) ? chosen[i] : '*'; });
      const m = parts[3] && boxes.some(b => parts[3].split(',').includes(b.value)) ? parts[3].split(',') : null;
      boxes.forEach(b => { b.checked = !m || m.includes(b.value); });
      show();
    }
    for (let e = target; e; e = e.parentElement) if (e.tagName === 'DETAILS') e.open = true;
    if (target) target.scrollIntoView();
  };

  form.addEventListener('change', () => { show(); write(); });
  form.querySelector('button').addEventListener('click', () => {
    for (const n of names) form[n].value = '*';
    for (const b of boxes) b.checked = true;
    show();
    write();
  });
  form.addEventListener('submit', e => e.preventDefault());
  window.addEventListener('hashchange', read);
  form.hidden = false;
  show();
  read();
})();
