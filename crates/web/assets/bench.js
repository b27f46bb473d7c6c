// The bench in the browser: forms answered in place, news from others, taps on the drawing.
// Every form works without this script too.

const FRAGMENT = { 'x-fragment': '1' };
const SLOW = 300; // milliseconds after which progress is shown

const byId = (id) => document.getElementById(id);
const job = document.body.dataset.job;
let revision = Number(document.body.dataset.revision || 0);
let working = null; // the request whose progress is shown

const say = (words) => { const status = byId('status'); if (status) status.textContent = words; };

// Where the focus goes when what had it is replaced: to its like in the new piece, by ever wider likeness.
function likenesses(element) {
  const fold = element.closest('details[id]');
  const within = fold ? `#${CSS.escape(fold.id)} ` : '';
  const ways = element.id ? [`#${CSS.escape(element.id)}`] : [];
  if (element.name) {
    const value = element.tagName === 'BUTTON' ? `[value="${CSS.escape(element.value)}"]` : '';
    ways.push(`${within}[name="${CSS.escape(element.name)}"]${value}`);
  }
  const action = element.form?.getAttribute('action');
  if (action) ways.push(`${within}form[action="${CSS.escape(action)}"] button`);
  if (fold) ways.push(`${within}> summary`);
  return ways;
}

function refocus(piece, ways) {
  const like = ways.map((way) => piece.querySelector(way)).find((element) => element?.checkVisibility());
  like?.focus({ preventScroll: true });
  if (!piece.contains(document.activeElement)) { piece.tabIndex = -1; piece.focus({ preventScroll: true }); }
}

// Pieces of the page come with the ids of what they replace. A piece that is kept may hold smaller ones that are not.
function swap(html, keep = () => false) {
  const pieces = document.createElement('template');
  pieces.innerHTML = html;
  for (const piece of [...pieces.content.children]) replace(piece, keep);
  const saved = byId('saved');
  if (saved) revision = Math.max(revision, Number(saved.dataset.revision));
  wake();
}

function replace(piece, keep) {
  const old = piece.id && byId(piece.id);
  // What says the same stays, and with it the finger that is on it.
  if (!old || old.isEqualNode(piece)) return;
  if (keep(old)) {
    for (const smaller of [...piece.querySelectorAll('[data-piece][id]')]) replace(smaller, keep);
    return;
  }
  const open = [...old.querySelectorAll('details[open][id]')].map((details) => details.id);
  const ways = old.contains(document.activeElement) ? likenesses(document.activeElement) : null;
  old.replaceWith(piece);
  for (const id of open) byId(id)?.setAttribute('open', '');
  if (ways) refocus(piece, ways);
}

function withProgress(words, run, how = 'finding') {
  const stop = new AbortController();
  const mine = { stop, how };
  working = mine;
  const timer = setTimeout(() => {
    if (working !== mine) return;
    byId('progress-words').textContent = words;
    byId('progress').hidden = false;
    poll(mine);
  }, SLOW);
  return run(stop.signal).finally(() => {
    clearTimeout(timer);
    if (working === mine) { working = null; byId('progress').hidden = true; }
  });
}

async function poll(mine) {
  const bar = byId('progress-bar');
  bar.removeAttribute('value');
  while (job && working === mine) {
    const answer = await fetch(`${job}/${mine.how}/progress`).catch(() => null);
    if (answer?.ok) {
      const { done, planned } = await answer.json();
      if (planned > 0) { bar.max = planned; bar.value = Math.min(done, planned); }
    }
    await new Promise((resolve) => setTimeout(resolve, 400));
  }
}

byId('progress-cancel')?.addEventListener('click', () => { working?.stop.abort(); say('Stopped.'); });

async function send(form, button) {
  const action = button?.getAttribute('formaction') || form.getAttribute('action');
  const data = new FormData(form);
  if (button?.name) data.set(button.name, button.value);
  const post = form.method === 'post';
  const upload = form.enctype === 'multipart/form-data';
  const body = upload ? data : new URLSearchParams(data);
  const address = post ? action : `${action}?${body}`;
  form.setAttribute('aria-busy', 'true');
  sending += 1;
  try {
    const answer = await withProgress('Working', (signal) =>
      fetch(address, { method: post ? 'POST' : 'GET', headers: FRAGMENT, body: post ? body : undefined, signal }));
    if (answer.redirected) { location.assign(answer.url); return; }
    const before = revision;
    const html = await answer.text();
    swap(html);
    const notice = byId('notice');
    if (answer.ok) {
      if (notice?.textContent) say(notice.querySelector('p')?.textContent || '');
      after(form.id);
    } else {
      say('');
      notice?.focus();
      notice?.scrollIntoView({ block: 'center' });
      // Someone else was faster: show what they made of it, but leave alone what is being written.
      if (answer.status === 409 && job) await renew();
    }
    if (revision > before) { weigh(); plan(); standing(); }
  } catch (error) {
    if (error.name !== 'AbortError') say('The bench does not answer. Nothing was saved; try again.');
  } finally {
    form.removeAttribute('aria-busy');
    sending -= 1;
    if (!sending && unheard) { const news = unheard; unheard = null; hear(news); }
  }
}

// Where the hand goes next after an entry was taken.
function after(id) {
  if (id === 'line-form') byId('entry-line')?.focus();
  if (id === 'row-form') byId('row-minute')?.focus();
  if (id === 'reading-form' && byId('expected')?.textContent === '') byId('entry-value')?.focus({ preventScroll: true });
}

document.addEventListener('submit', (event) => {
  const form = event.target;
  if (!form.hasAttribute('data-live') || form.getAttribute('aria-busy') === 'true') return;
  event.preventDefault();
  send(form, event.submitter);
});

// The ranking follows every change.
let weighing = 0;
let stopWeighing = null; // the ranking of a job that has changed since is of no use
async function weigh() {
  if (!job || !byId('finding')) return;
  const mine = ++weighing;
  stopWeighing?.abort();
  const stop = stopWeighing = new AbortController();
  byId('finding').setAttribute('aria-busy', 'true');
  try {
    const answer = await withProgress('Weighing the readings', (signal) =>
      fetch(`${job}/finding`, { headers: FRAGMENT, signal: AbortSignal.any([signal, stop.signal]) }));
    const html = await answer.text();
    if (mine === weighing) swap(html);
  } catch (error) {
    if (error.name !== 'AbortError') say('The bench does not answer; the ranking shown is an old one.');
  } finally {
    byId('finding')?.removeAttribute('aria-busy');
  }
}

// The plan follows every change, too, where it is shown.
let stopPlanning = null;
async function plan() {
  if (!job || !byId('plan')) return;
  stopPlanning?.abort();
  const stop = stopPlanning = new AbortController();
  byId('plan').setAttribute('aria-busy', 'true');
  try {
    const answer = await withProgress('Working out the plan', (signal) =>
      fetch(`${job}/plan/tree`, { headers: FRAGMENT, signal: AbortSignal.any([signal, stop.signal]) }), 'plan');
    const html = await answer.text();
    if (stop === stopPlanning) swap(html);
  } catch (error) {
    if (error.name !== 'AbortError') say('The bench does not answer; the plan shown is an old one.');
  } finally {
    if (stop === stopPlanning) byId('plan')?.removeAttribute('aria-busy');
  }
}

// How the job or its heat run stands follows every change where it is shown.
let stopStanding = null;
async function standing() {
  if (!job || !byId('standing')) return;
  stopStanding?.abort();
  const stop = stopStanding = new AbortController();
  byId('standing').setAttribute('aria-busy', 'true');
  try {
    const answer = await fetch(byId('standing').dataset.from, { headers: FRAGMENT, signal: stop.signal });
    const html = await answer.text();
    if (stop === stopStanding) swap(html);
  } catch (error) {
    if (error.name !== 'AbortError') say('The bench does not answer; how the job stands is not worked out.');
  } finally {
    if (stop === stopStanding) byId('standing')?.removeAttribute('aria-busy');
  }
}

// News of others. While something is being sent they wait: they may be of just that.
let sending = 0;
let unheard = null;

function hear(news) {
  if (sending) unheard = news;
  else if (news.revision > revision) { revision = news.revision; refresh(news); }
}

const untouched = (element) => !element.contains(document.activeElement)
  && ![...element.querySelectorAll('input:not([type=hidden]):not([type=radio]):not([type=checkbox]), textarea')]
    .some((field) => field.value !== field.defaultValue);

// What someone is writing in stays; saving it will say if it no longer fits.
async function renew() {
  const setup = byId('entry-setup')?.value || '';
  const answer = await fetch(`${job}/pieces?setup=${encodeURIComponent(setup)}`, { headers: FRAGMENT });
  if (answer.ok) swap(await answer.text(), (old) => old.id === 'notice' || !untouched(old));
}

async function refresh(news) {
  await renew();
  say(`${news.who}: ${news.what}`);
  weigh();
  plan();
  standing();
}

if (job && (byId('finding') || byId('plan') || byId('standing'))) {
  const news = new EventSource(`${job}/events`);
  news.addEventListener('revision', (event) => {
    hear(JSON.parse(event.data));
  });
  news.addEventListener('error', () => say('Connection lost; trying again.'));
  news.addEventListener('open', () => { if (byId('status')?.textContent.startsWith('Connection')) say('Connected again.'); });
}

// Taps on the drawing: two terminals make a reading or a wire.
function tap(terminal) {
  const wire = document.querySelector('#tap-mode input:checked')?.value === 'wire';
  const [from, to] = wire ? [byId('wire-from'), byId('wire-to')] : [byId('entry-from'), byId('entry-to')];
  if (!from) return;
  if (!from.value || to.value) { from.value = terminal; to.value = ''; say(`${terminal}; now tap another terminal`); }
  else if (from.value !== terminal) {
    to.value = terminal;
    say(`${from.value} to ${terminal}`);
    if (!wire) {
      byId('entry').scrollIntoView({ block: 'nearest' });
      byId('entry-value').focus({ preventScroll: true });
    }
  }
  mark();
}

function mark() {
  const chosen = new Set(['wire-from', 'wire-to', 'entry-from', 'entry-to'].map((id) => byId(id)?.value).filter(Boolean));
  for (const terminal of document.querySelectorAll('[data-terminal]')) {
    terminal.classList.toggle('chosen', chosen.has(terminal.dataset.terminal));
  }
}

document.addEventListener('click', (event) => {
  const terminal = event.target.closest('#wiring [data-terminal]');
  if (terminal) { tap(terminal.dataset.terminal); return; }
  const clear = event.target.closest('[data-clear]');
  if (clear) { for (const id of clear.dataset.clear.split(' ')) byId(id).value = ''; mark(); return; }
  const fill = event.target.closest('[data-fill-entry]');
  if (fill) {
    byId('entry-setup').value = fill.dataset.setup;
    byId('entry-from').value = fill.dataset.from;
    byId('entry-to').value = fill.dataset.to || '';
    const chips = [...document.querySelectorAll('#reading-form input[name=unit]')];
    const chip = chips.find((chip) => chip.value === fill.dataset.unit) || chips[0];
    if (chip) chip.checked = true;
    chooseSetup();
    mark();
    byId('entry').scrollIntoView({ block: 'start' });
    byId('entry-value').focus({ preventScroll: true });
    return;
  }
  const line = event.target.closest('[data-line]');
  if (line) jump(byId('job-text'), Number(line.dataset.line), Number(line.dataset.column));
});

document.addEventListener('keydown', (event) => {
  if (event.key !== 'Enter' && event.key !== ' ') return;
  const terminal = event.target.closest?.('#wiring [data-terminal]');
  if (terminal) { event.preventDefault(); tap(terminal.dataset.terminal); }
});

// A setup keeps its caution beside it, and other forms follow the choice.
function chooseSetup() {
  const chosen = byId('entry-setup')?.value;
  for (const caution of document.querySelectorAll('[data-for-setup]')) caution.hidden = caution.dataset.forSetup !== chosen;
  for (const field of document.querySelectorAll('[data-same-as=entry-setup]')) field.value = chosen;
}

document.addEventListener('change', async (event) => {
  remember(event.target);
  if (event.target.id === 'entry-setup') { forgetUnit(); chooseSetup(); }
  if (event.target.dataset.fill) byId(event.target.dataset.fill).value = await event.target.files[0].text();
});
document.addEventListener('input', (event) => {
  if (event.target.id === 'job-text') check(event.target);
  if (/^(entry|wire)-(from|to)$/.test(event.target.id)) mark();
});

// The job as text: what is wrong, while it is written.
let pending = 0;
function check(text) {
  clearTimeout(pending);
  pending = setTimeout(async () => {
    const body = new URLSearchParams({ text: text.value, form_token: document.body.dataset.formToken });
    const answer = await fetch(text.dataset.check, { method: 'POST', headers: FRAGMENT, body }).catch(() => null);
    if (answer?.ok) swap(await answer.text());
  }, 250);
}

function jump(text, line, column) {
  if (!text) return;
  const lines = text.value.split('\n');
  const start = lines.slice(0, line - 1).reduce((sum, each) => sum + each.length + 1, 0) + column - 1;
  text.focus();
  text.setSelectionRange(start, start + Math.max(1, (lines[line - 1] || '').length - column + 1));
  text.scrollTop = Math.max(0, (line - 8) * (text.scrollHeight / lines.length));
}

// What was chosen for the last entry stays chosen for the next.
const chosen = {};
function remember(field) {
  if (field.name === 'unit') chosen.unit = field.value;
  if (field.id === 'entry-part') chosen.part = field.value;
}

// Ohms are for setups without supply, and other units for those with: a change of setup asks anew.
function forgetUnit() {
  chosen.unit = '';
  const bySetup = document.querySelector('#reading-form input[name=unit][value=""]');
  if (bySetup) bySetup.checked = true;
}

function recall() {
  const unit = chosen.unit && document.querySelector(`#reading-form input[name=unit][value="${CSS.escape(chosen.unit)}"]`);
  if (unit) unit.checked = true;
  const part = byId('entry-part');
  if (part && chosen.part && [...part.options].some((option) => option.value === chosen.part)) part.value = chosen.part;
}

// After any piece was replaced.
function wake() {
  recall();
  chooseSetup();
  mark();
}

wake();
if (byId('finding')?.dataset.load) weigh();
if (byId('plan')?.dataset.load) plan();
if (byId('standing')?.hasAttribute('data-load')) standing();
