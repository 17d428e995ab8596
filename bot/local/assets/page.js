'use strict';
// The page works as plain forms; this adds completions, dialogs and live updates.

const base = document.body.dataset.base;
const messages = document.getElementById('messages');
const state = document.getElementById('state');
const form = document.getElementById('send');
const line = document.getElementById('line');
const list = document.getElementById('choices');

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
  closeChoices();
});

messages.addEventListener('submit', async (e) => {
  e.preventDefault();
  const dialog = e.target.closest('dialog');
  const out = await submit(e.target, e.submitter);
  if (!dialog) return;
  if (out && !out.error) { e.target.reset(); dialog.close(); return; }
  dialog.querySelector('.wrong').textContent = out ? out.error : state.textContent;
});

messages.addEventListener('click', (e) => {
  const opens = e.target.closest('[data-opens]');
  if (opens) {
    const dialog = document.getElementById(opens.dataset.opens);
    dialog.querySelector('.wrong').textContent = '';
    dialog.showModal();
    dialog.querySelector('input[type=text]')?.focus();
  }
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

// ---- live updates

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
  if (old) {
    const focused = old.contains(document.activeElement);
    old.replaceWith(fresh);
    if (focused) fresh.focus({ preventScroll: true });
    return;
  }
  const nearEnd = innerHeight + scrollY > document.documentElement.scrollHeight - 120;
  messages.append(fresh);
  if (nearEnd || 'mine' in fresh.dataset) fresh.scrollIntoView({ block: fresh.offsetHeight > innerHeight * 0.7 ? 'start' : 'end' });
}

const events = new EventSource(base + '/events?after=' + encodeURIComponent(document.body.dataset.after));
events.addEventListener('message', (e) => { const m = JSON.parse(e.data); show(m.id, m.html); });
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

line.addEventListener('input', () => { clearTimeout(timer); timer = setTimeout(suggest, 120); });
line.addEventListener('blur', () => setTimeout(() => { if (document.activeElement !== line) closeChoices(); }, 150));
line.addEventListener('keydown', (e) => {
  const n = choices.length;
  if (n === 0) {
    if (e.key === 'ArrowDown') { e.preventDefault(); suggest(); }
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
if (!location.hash && messages.children.length) scrollTo({ top: document.documentElement.scrollHeight, behavior: 'instant' });
