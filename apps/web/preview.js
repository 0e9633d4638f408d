// A lesson beside its text: wall, phone and notes at any place of it, and every mistake at its line. A saved change is seen here.

import { button, el, fill, keyHeld, safe, say, segments } from './dom.js'

const app = document.getElementById('app'),
  slug = app.dataset.slug
const text = document.getElementById('text'),
  mistakes = document.getElementById('mistakes'),
  moves = document.getElementById('moves'),
  screens = document.getElementById('screens'),
  notes = document.getElementById('notes'),
  keyForm = document.getElementById('key-form')
const frames = [...screens.querySelectorAll('iframe')]
const PHASES = {
  show: 'shown',
  vote: 'guess',
  talk: 'talk',
  again: 'guess again',
  bars: 'answers',
  look: 'look',
  reveal: 'reason',
}
const EVERY_MS = 1000

const place = new URLSearchParams(location.hash.slice(1))
let stamp = null,
  step = Math.max(0, Number(place.get('step') ?? 1) - 1),
  phase = place.get('phase') ?? '',
  shown = null,
  steps = [],
  lines = [],
  busy = false,
  again = false

// ---- asking the server

async function ask(fresh) {
  if (busy) {
    again ||= fresh
    return
  }
  busy = true
  try {
    const response = await fetch(`/lesson/${slug}/preview`, {
      method: 'POST',
      headers: { 'Content-Type': 'application/json' },
      body: JSON.stringify({ key: keyHeld.get(), step, phase, ...(fresh || stamp === null ? {} : { stamp }) }),
    })
    const data = await response.json().catch(() => ({}))
    app.classList.remove('gone')
    if (response.ok) take(data)
    else if (data.key) askKey(keyHeld.get() ? data.text : '')
    else trouble(data.text ?? 'That did not work. It is tried again.')
  } catch {
    trouble('The server does not answer. It is tried again.')
  }
  busy = false
  if (again) {
    again = false
    ask(true)
  }
}

function trouble(words) {
  app.classList.add('gone')
  fill(mistakes, el('p', { class: 'trouble' }, words))
}

function askKey(words) {
  clearInterval(timer)
  keyForm.hidden = false
  document.getElementById('key-trouble').textContent = words
  document.getElementById('key').focus()
}
keyForm.addEventListener('submit', event => {
  event.preventDefault()
  keyHeld.set(document.getElementById('key').value.trim())
  keyForm.hidden = true
  timer = setInterval(() => ask(false), EVERY_MS)
  ask(true)
})

function take(data) {
  if (data.same) {
    if (mistakes.querySelector('.trouble') && !app.classList.contains('wrong')) fill(mistakes)
    return
  }
  const saved = stamp !== null && data.stamp !== stamp
  stamp = data.stamp
  if (data.title) {
    document.getElementById('lesson-title').textContent = data.title
    document.title = `Preview, ${data.title} - Graspwave`
  }
  drawText(data.text, data.mistakes, saved)
  app.classList.toggle('wrong', !data.at)
  if (!data.at) {
    say(`${data.mistakes.length} mistakes`)
    return
  }
  steps = data.steps
  step = data.at.step
  phase = data.at.phase
  shown = data.at
  screens.hidden = false
  fit()
  for (const frame of frames) {
    // a saved lesson is another lesson: its pages begin anew
    if (!frame.dataset.ready || saved) {
      frame.dataset.ready = ''
      frame.src = `/teach/${slug}/preview/${frame.dataset.which}`
    } else tell(frame)
  }
  drawMoves()
  drawNotes()
  history.replaceState(null, '', `#step=${step + 1}&phase=${phase}`)
  if (saved) say('The lesson was saved. It is shown as it is now.')
}

const tell = frame => {
  if (shown) frame.contentWindow.postMessage(shown[frame.dataset.which], location.origin)
}
addEventListener('message', event => {
  const frame = frames.find(one => one.contentWindow === event.source)
  if (!frame || event.origin !== location.origin || event.data?.type !== 'ready') return
  frame.dataset.ready = 'yes'
  tell(frame)
})

// ---- what is drawn

function drawText(given, wrong, saved) {
  const now = given.split('\n'),
    before = new Set(saved ? lines : now),
    at = new Map()
  for (const one of wrong) at.set(one.line, [...(at.get(one.line) ?? []), one.text])
  const top = text.scrollTop
  fill(
    text,
    now.map((line, i) => [
      el(
        'div',
        {
          class: `line${before.has(line) ? '' : ' new'}${at.has(i + 1) ? ' bad' : ''}`,
          'data-n': i + 1,
          onclick: () => goToLine(i + 1),
        },
        el('span', { class: 'n', 'aria-hidden': 'true' }, String(i + 1)),
        el('code', {}, line || ' '),
      ),
      (at.get(i + 1) ?? []).map(words => el('p', { class: 'wrong-here' }, words)),
    ]),
  )
  lines = now
  text.scrollTop = top
  fill(
    mistakes,
    wrong.length
      ? [
          el(
            'p',
            {},
            el('b', {}, wrong.length === 1 ? 'One mistake. ' : `${wrong.length} mistakes. `),
            shown ? 'Beside it the lesson is shown as it was before.' : '',
          ),
          el(
            'ol',
            { class: 'wrong' },
            wrong.map(one =>
              el(
                'li',
                {},
                button(`Line ${one.line}`, () => seeLine(one.line), { class: 'link' }),
                `: ${one.text}`,
              ),
            ),
          ),
        ]
      : el(
          'p',
          { class: 'note' },
          saved
            ? '\u2713 Saved just now, no mistake found.'
            : '\u2713 No mistake found. A change is seen here once the file is saved.',
        ),
  )
  const first = wrong[0]?.line
  if (first) seeLine(first)
}

function seeLine(n) {
  const row = text.querySelector(`[data-n="${n}"]`)
  if (row) text.scrollTop += row.getBoundingClientRect().top - text.getBoundingClientRect().top - text.clientHeight / 4
}

function goToLine(n) {
  if (String(getSelection())) return // somebody copies
  let at = 0
  steps.forEach((one, i) => {
    if (one.line <= n) at = i
  })
  if (steps.length && at !== step) go(at, '')
}

function go(to, then) {
  step = Math.min(Math.max(to, 0), steps.length - 1)
  phase = then || steps[step].phases[0]
  seeLine(steps[step].line)
  ask(true)
}

function move(by) {
  const all = steps.flatMap((one, i) => one.phases.map(p => [i, p]))
  const to = all[all.findIndex(([i, p]) => i === step && p === phase) + by]
  if (to) go(...to)
}

function drawMoves() {
  const one = steps[step]
  const select = el(
    'select',
    { id: 'step', onchange: () => go(Number(select.value), '') },
    steps.map((s, i) => el('option', { value: i, selected: i === step }, `${s.number}. ${s.title}`)),
  )
  const focused = document.activeElement?.dataset?.id
  fill(
    moves,
    el(
      'div',
      { class: 'row preview-moves' },
      button('Back', () => move(-1), { 'data-id': 'back', disabled: step === 0 && phase === steps[0].phases[0] }),
      el('label', { for: 'step', class: 'vh' }, 'Step'),
      select,
      button('Next', () => move(1), {
        'data-id': 'next',
        class: 'btn strong',
        disabled: step === steps.length - 1 && phase === one.phases.at(-1),
      }),
    ),
    one.phases.length > 1
      ? segments(
          'phase',
          'At',
          one.phases.map(p => [p, PHASES[p] ?? p]),
          phase,
          p => go(step, p),
        )
      : null,
  )
  if (focused) moves.querySelector(`[data-id=${focused}]`)?.focus()
}

function drawNotes() {
  const one = steps[step]
  fill(
    notes,
    el('h3', {}, 'Notes for whoever leads'),
    one.say ? safe(one.say, { class: 'md say' }) : el('p', { class: 'note' }, 'This step has none.'),
    el(
      'p',
      { class: 'note' },
      `${one.room_minutes} min in a room${one.alone ? '; told in another way to those who are alone' : ''}.`,
    ),
  )
}

// The screens are pages of full size, drawn smaller.
function fit() {
  for (const frame of frames) {
    const pane = frame.parentElement,
      scale = pane.clientWidth / frame.width
    frame.style.transform = `scale(${scale})`
    pane.style.height = `${Math.ceil(frame.height * scale)}px`
  }
}
new ResizeObserver(fit).observe(screens)

let timer = setInterval(() => {
  if (document.visibilityState === 'visible') ask(false)
}, EVERY_MS)
ask(true)
