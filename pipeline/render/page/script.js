'use strict';
(() => {
  const $$ = (what, within = document) => [...within.querySelectorAll(what)];
  const form = document.getElementById('filter'), names = ['type', 'variable', 'outcome', 'verdict'];
  const boxes = $$('input[type=checkbox]', form), status = form.querySelector('output'), glance = document.querySelector('#glance .board');
  const plain = text => text.toLowerCase().replace(/[-\s]+/g, ' ');
  const figures = $$('.f').map(el => ({el, key: el.id.split('/'), text: plain(el.querySelector('h3').textContent), verdicts: el.dataset.v.split(' '), panels: $$('figure', el)}));
  const byID = new Map(figures.map(f => [f.el.id, f]));
  const types = $$('.type'), first = $$('tbody', glance), heading = document.getElementById('what'), usual = heading.textContent;
  const bar = () => getComputedStyle(form).position === 'sticky' ? form.offsetHeight : 0;

  // ask shows at a glance the quality that is chosen, from the boards of the pitch types.
  const ask = variable => {
    const own = variable === '*' || first[0] && first[0].dataset.r.endsWith('/' + variable);
    heading.textContent = own ? usual : form.variable.selectedOptions[0].textContent;
    $$('#glance .none').forEach(e => { e.hidden = !own; });
    const rows = own ? first : $$('.type tbody[data-r$="/' + CSS.escape(variable) + '"]').map(b => {
      const copy = b.cloneNode(true), option = $$('option', form.type).find(o => o.value === b.dataset.r.split('/')[0]);
      $$('.nm a, .w a', copy).forEach(a => { a.textContent = option.textContent; });
      return copy;
    });
    glance.tBodies[0] && $$('tbody', glance).forEach(b => b.remove());
    glance.append(...rows);
  };

  // show hides what is not chosen, and keeps what is read where it is.
  const show = () => {
    const want = Object.fromEntries(names.map(n => [n, form[n].value])), sought = plain(form.q.value).split(' ').filter(Boolean);
    const on = boxes.map(b => b.checked);
    const anchors = $$('.f, main > section, .type').filter(e => e.offsetParent && e.getBoundingClientRect().bottom > bar() + 1);
    const before = anchors.map(e => e.getBoundingClientRect().top);
    on.forEach((yes, i) => document.body.classList.toggle('no' + i, !yes));
    ask(want.variable);
    let n = 0;
    for (const f of figures) {
      const panel = f.verdicts.map((v, i) => on[i] && (want.verdict === '*' || v === want.verdict));
      f.shown = ['type', 'variable', 'outcome'].every((k, i) => want[k] === '*' || want[k] === f.key[i]) && sought.every(w => f.text.includes(w)) && panel.some(Boolean);
      f.panels.forEach((p, i) => { p.hidden = !panel[i]; });
      f.el.hidden = !f.shown;
      n += f.shown;
    }
    for (const b of $$('.board tbody')) {
      const lines = $$('tr[data-f]', b);
      for (const l of lines) l.hidden = !byID.get(l.dataset.f).shown;
      b.hidden = lines.every(l => l.hidden);
      $$('tr:not([data-f]):not(.nm):not(.sc)', b).forEach(l => { l.hidden = lines.some(l => l.hidden); });
    }
    for (const d of types) {
      d.hidden = !d.querySelector('.f:not([hidden])');
      if (want.type === d.id || n < 9 && !d.hidden) d.open = true;
    }
    for (const d of $$('.fold')) {
      d.hidden = !d.querySelector('.f:not([hidden])');
      if (want.verdict === 'inconclusive' || want.verdict === 'too_few' || n < 9) d.open = true;
    }
    for (const x of $$('.type .board')) x.hidden = !x.querySelector('tbody:not([hidden])');
    document.documentElement.style.setProperty('--bar', bar() + 'px');
    status.value = n === figures.length ? n + ' figures' : n + ' of ' + figures.length + ' figures';
    const i = window.scrollY > 0 ? anchors.findIndex(e => e.offsetParent) : -1;
    if (i >= 0) window.scrollBy(0, anchors[i].getBoundingClientRect().top - before[i]);
  };

  // write puts the choice into the address: type/quality/outcome/matchups/verdict/words.
  const write = () => {
    const m = boxes.every(b => b.checked) ? '*' : boxes.filter(b => b.checked).map(b => b.value).join(',') || '-';
    const parts = [form.type.value, form.variable.value, form.outcome.value, m, form.verdict.value, encodeURIComponent(form.q.value) || '*'];
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
      form.q.value = parts[5] && parts[5] !== '*' ? parts[5] : '';
      show();
    }
    for (let e = target; e; e = e.parentElement) if (e.tagName === 'DETAILS') e.open = true;
    if (target) target.scrollIntoView();
  };

  // What is closed is opened to print, where the style alone does not.
  let closed = [];
  window.addEventListener('beforeprint', () => {
    closed = $$('details:not([open])');
    closed.forEach(d => { d.open = true; });
  });
  window.addEventListener('afterprint', () => { closed.forEach(d => { d.open = false; }); });

  document.addEventListener('click', e => {
    const cell = e.target.closest('.board td[class]'), to = cell && cell.parentElement.querySelector('.o a');
    if (to && getSelection().isCollapsed) to.click();
  });
  for (const when of ['change', 'search']) form.addEventListener(when, () => { show(); write(); });
  form.q.addEventListener('input', show);
  form.querySelector('button').addEventListener('click', () => {
    for (const n of names) form[n].value = '*';
    for (const b of boxes) b.checked = true;
    form.q.value = '';
    show();
    write();
  });
  form.addEventListener('submit', e => e.preventDefault());
  window.addEventListener('hashchange', read);
  window.addEventListener('resize', () => document.documentElement.style.setProperty('--bar', bar() + 'px'));
  form.hidden = false;
  show();
  read();
})();
