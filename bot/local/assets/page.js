'use strict';
// The page works as plain forms; this adds completions, earlier lines, dialogs,
// large pictures and live updates.

const base = document.body.dataset.base;
const messages = document.getElementById('messages');
const state = document.getElementById('state');
const form = document.getElementById('send');
const line = document.getElementById('line');
const list = document.getElementById('choices');
const unit = document.getElementById('unit');

// ---- sending

async function post(path, fields) {
  const r = await fetch(base + path, {
    method: 'POST',
    headers: { Accept: 'application/json' },
    body: new URLSearchParams(fields),
  });
  if (!r.ok) throw new Error((await r.text()).trim());
  return r.json();
}

// submit sends a form without leaving the page; null where it could not be sent.
async function submit(f, button) {
  const fields = new FormData(f, button);
  if (button) button.disabled = true;
  const waiting = setTimeout(() => { state.textContent = 'Working on it'; }, 400);
  try {
    const out = await post(f.getAttribute('action').slice(base.length), fields);
    state.textContent = '';
    return out;
  } catch (e) {
    state.textContent = e instanceof TypeError ? 'The program cannot be reached. Is it still running?' : e.message;
    return null;
  } finally {
    clearTimeout(waiting);
    if (button) button.disabled = false;
  }
}

form.addEventListener('submit', async (e) => {
  e.preventDefault();
  closeChoices();
  const sent = line.value;
  const out = await submit(form, e.submitter);
  // A line that cannot be used stays, to be corrected.
  if (out && !out.error && line.value === sent) line.value = '';
  back = 0;
  closeChoices();
});

unit.addEventListener('submit', (e) => { e.preventDefault(); submit(unit, e.submitter); });

function showUnit(now) {
  for (const b of unit.querySelectorAll('button')) b.setAttribute('aria-pressed', String(b.dataset.unit === now));
}

messages.addEventListener('submit', async (e) => {
  e.preventDefault();
  const dialog = e.target.closest('dialog');
  const out = await submit(e.target, e.submitter);
  if (!dialog) return;
  if (out && !out.error) { e.target.reset(); dialog.close(); return; }
  const wrong = dialog.querySelector('.wrong');
  wrong.textContent = out ? out.error : state.textContent;
  wrong.scrollIntoView({ block: 'nearest' });
});

messages.addEventListener('click', (e) => {
  const opens = e.target.closest('[data-opens]');
  if (opens) {
    const dialog = document.getElementById(opens.dataset.opens);
    dialog.querySelector('.wrong').textContent = '';
    dialog.showModal();
    dialog.querySelector('input[type=text]')?.focus();
  }
  const picture = e.target.closest('a.picture');
  if (picture && !e.ctrlKey && !e.metaKey && !e.shiftKey) {
    e.preventDefault();
    enlarge(picture.querySelector('img'));
  }
});

document.addEventListener('click', (e) => {
  if (e.target.closest('[data-closes]')) e.target.closest('dialog').close();
});

document.querySelector('.start').addEventListener('click', (e) => {
  const a = e.target.closest('[data-fill]');
  if (!a) return;
  e.preventDefault();
  line.value = a.dataset.fill;
  line.focus();
  suggest();
});

// ---- large pictures

const large = document.getElementById('large');
const sheet = document.getElementById('sheet');
const whole = document.getElementById('whole');

// enlarge opens a picture larger than the window, to be moved about; a press on
// it shows the whole again.
function enlarge(img) {
  const shown = sheet.firstElementChild;
  shown.src = img.currentSrc;
  shown.alt = img.alt;
  shown.width = img.width;
  shown.height = img.height;
  large.querySelector('details p').textContent = img.alt;
  large.querySelector('details').open = false;
  const save = document.getElementById('save');
  save.href = img.currentSrc;
  save.download = img.closest('a').dataset.name;
  scale(false);
  large.showModal();
  sheet.scrollTo(0, 0);
  sheet.focus();
}

function scale(toWhole) {
  sheet.classList.toggle('whole', toWhole);
  whole.textContent = toWhole ? 'Larger' : 'Whole picture';
}

whole.addEventListener('click', () => scale(!sheet.classList.contains('whole')));
sheet.addEventListener('click', () => scale(!sheet.classList.contains('whole')));

// ---- live updates

const news = document.getElementById('news'); // what a screen reader says
const newer = document.getElementById('newer');
const nearEnd = () => innerHeight + scrollY > document.documentElement.scrollHeight - 120;

// announce says who did what and what came of it, without the buttons.
function announce(article) {
  const parts = [...article.querySelectorAll('.reply > p')].map((p) => p.textContent.trim());
  news.textContent = [article.getAttribute('aria-label'), ...parts]
    .map((s) => /[.?:]$/.test(s) ? s : s + '.').join(' ');
}

newer.addEventListener('click', () => {
  messages.lastElementChild.scrollIntoView({ block: 'start' });
  messages.lastElementChild.focus({ preventScroll: true });
  newer.hidden = true;
});
addEventListener('scroll', () => { if (nearEnd()) newer.hidden = true; }, { passive: true });

const later = new Map(); // messages that changed while a dialog of theirs was open

function show(id, html) {
  const t = document.createElement('template');
  t.innerHTML = html;
  const fresh = t.content.querySelector('article');
  const old = document.getElementById('m' + id);
  const open = old && old.querySelector('dialog[open]');
  if (open) {
    if (!later.has(id)) open.addEventListener('close', () => { const h = later.get(id); later.delete(id); show(id, h); }, { once: true });
    later.set(id, html);
    return;
  }
  document.querySelector('.start').hidden = true;
  announce(fresh);
  if (old) {
    const focused = old.contains(document.activeElement);
    old.replaceWith(fresh);
    if (focused) fresh.focus({ preventScroll: true });
    return;
  }
  const follow = nearEnd() || 'mine' in fresh.dataset;
  messages.append(fresh);
  if (follow) fresh.scrollIntoView({ block: fresh.offsetHeight > innerHeight * 0.7 ? 'start' : 'end' });
  else newer.hidden = false;
}

const events = new EventSource(base + '/events?after=' + encodeURIComponent(document.body.dataset.after));
events.addEventListener('message', (e) => { const m = JSON.parse(e.data); show(m.id, m.html); });
events.addEventListener('here', (e) => showUnit(JSON.parse(e.data).unit));
events.addEventListener('reload', () => location.reload());
let lost = false;
events.onerror = () => { lost = true; state.textContent = 'Not connected. Trying again.'; };
events.onopen = () => { if (lost) state.textContent = ''; lost = false; };
addEventListener('pagehide', () => events.close());
addEventListener('pageshow', (e) => { if (e.persisted) location.reload(); });

// ---- completions

let choices = [];
let chosen = -1;
let asked = 0;
let timer;

function closeChoices() {
  clearTimeout(timer);
  asked++;
  choices = [];
  chosen = -1;
  list.hidden = true;
  list.replaceChildren();
  line.setAttribute('aria-expanded', 'false');
  line.removeAttribute('aria-activedescendant');
}

async function suggest() {
  clearTimeout(timer);
  const mine = ++asked;
  const cut = line.selectionStart;
  let out;
  try {
    out = await post('/complete', { token: form.elements.token.value, line: line.value.slice(0, cut) });
  } catch { return; }
  if (mine !== asked || document.activeElement !== line) return;
  closeChoices();
  choices = out.choices;
  if (choices.length === 0) return;
  choices.forEach((c, i) => {
    const li = document.createElement('li');
    li.id = 'choice' + i;
    li.setAttribute('role', 'option');
    li.setAttribute('aria-selected', 'false');
    const label = document.createElement('strong');
    label.textContent = c.label;
    const note = document.createElement('span');
    note.textContent = c.note || '';
    li.append(label, note);
    list.append(li);
  });
  list.hidden = false;
  line.setAttribute('aria-expanded', 'true');
}

function choose(i) {
  if (chosen >= 0) list.children[chosen].setAttribute('aria-selected', 'false');
  chosen = i;
  if (i < 0) { line.removeAttribute('aria-activedescendant'); return; }
  const li = list.children[i];
  li.setAttribute('aria-selected', 'true');
  li.scrollIntoView({ block: 'nearest' });
  line.setAttribute('aria-activedescendant', li.id);
}

function take(i) {
  const tail = line.value.slice(line.selectionStart);
  const head = choices[i].line;
  line.value = head + tail.trimStart();
  line.setSelectionRange(head.length, head.length);
  closeChoices();
  suggest();
}

// ---- earlier lines

let back = 0; // how many lines back the one shown is; 0: the one being typed
let draft = '';

// earlier shows a line sent before, n further back, as a terminal does.
function earlier(n) {
  const sent = [...messages.querySelectorAll('[data-mine][data-typed]')].map((a) => a.dataset.typed)
    .filter((s, i, all) => s !== all[i - 1]);
  const to = back + n;
  if (to < 0 || to > sent.length) return;
  if (back === 0) draft = line.value;
  back = to;
  line.value = back === 0 ? draft : sent[sent.length - back];
  line.setSelectionRange(line.value.length, line.value.length);
}

line.addEventListener('input', () => {
  back = 0;
  asked++; // an answer still under way is to an older line, and must not end this wait
  clearTimeout(timer);
  timer = setTimeout(suggest, 120);
});
line.addEventListener('blur', () => setTimeout(() => { if (document.activeElement !== line) closeChoices(); }, 150));
line.addEventListener('keydown', (e) => {
  const n = choices.length;
  if (n === 0) {
    if (e.key === 'ArrowUp') earlier(1);
    else if (e.key === 'ArrowDown' && back > 0) earlier(-1);
    else if (e.key === 'ArrowDown') suggest();
    else return;
    e.preventDefault();
    return;
  }
  if (e.key === 'ArrowDown') choose(chosen + 1 < n ? chosen + 1 : 0);
  else if (e.key === 'ArrowUp') choose(chosen > 0 ? chosen - 1 : n - 1);
  else if (e.key === 'Escape') closeChoices();
  else if ((e.key === 'Enter' || e.key === 'Tab') && chosen >= 0) take(chosen);
  else return;
  e.preventDefault();
});
// Pressing must not take the focus away from the line.
list.addEventListener('mousedown', (e) => e.preventDefault());
list.addEventListener('click', (e) => {
  const li = e.target.closest('li');
  if (li) take([...list.children].indexOf(li));
});

if (line.value) line.setSelectionRange(line.value.length, line.value.length);
// With a keyboard one types at once; on a phone it would cover the page.
if (!matchMedia('(pointer: coarse)').matches && !location.hash) line.focus({ preventScroll: true });
if (!location.hash && messages.children.length) scrollTo({ top: document.documentElement.scrollHeight, behavior: 'instant' });
