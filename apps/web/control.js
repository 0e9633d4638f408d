// Where the educator leads the room: the plan and what to say, what the room sees, who is there, and what comes next.

import { rightWords } from './answers.js'
import { connect } from './connect.js'
import { askBench, button, code, el, fill, kept, minutes, named, safe, say, sendable } from './dom.js'
import { renderStep } from './step.js'

const room = code(), KEY = `gw-room-${room}`, CLOCK = `gw-clock-${room}`
const COMES = { talk: 'talk it over', again: 'ask again', bars: 'show the room\u2019s answers', look: 'show the picture',
  reveal: 'show what the model gives' }
// Worth a talk between these shares of right answers (memory, high certainty).
const FEW = 0.3, MANY = 0.7

const plan = document.getElementById('plan'), shown = document.getElementById('shown'), people = document.getElementById('people')
const banner = el('p', { class: 'banner', role: 'status', hidden: true })
const host = el('div', {}), rightBox = el('div', {}), advice = el('div', { 'aria-live': 'polite' }),
  moves = el('div', { class: 'moves', role: 'group', 'aria-label': 'Lead the room' })
const benchHost = el('div', { class: 'mirror-host', hidden: true })
const clocks = el('div', { class: 'clocks', role: 'timer', 'aria-label': 'Time left' })
const keys = new Map()

let line = null, state = null, lesson = null, mirroring = false, benchTimer = 0, mirrorLast = null, ending = false, planAt = -1
let clock = kept.get(CLOCK) ?? { from: null, step: null, stepFrom: null, seen: [] }
// Whether Next and Back go through the short version only.
let brief = kept.get(KEY)?.short === true

const token = kept.get(KEY)?.token ?? kept.get(KEY)
if (!token) {
  fill(document.getElementById('app'), el('div', { class: 'column narrow' },
    el('h2', { class: 'big' }, 'This room was opened in another browser'),
    el('p', { class: 'lead' },
      'Only the browser that opened the room can lead it. Open this page there, or open a room of your own.'),
    el('div', { class: 'row' }, el('a', { class: 'btn', href: '/teach' }, 'To the lessons'),
      el('a', { class: 'btn', href: `/join?code=${encodeURIComponent(room)}` }, 'Join this room'))))
  for (const id of ['open-wall', 'save', 'end']) document.getElementById(id).hidden = true
} else queueMicrotask(begin)

function begin() {
  fill(plan)
  shown.append(banner, el('div', { class: 'shown-scroll' }, host, rightBox, benchHost), advice, moves)
  line = connect({ code: room, role: 'control', token,
    on: { message, status, refused: m => { say(m.text); tell(m.text) }, closed } })
  document.getElementById('open-wall').addEventListener('click', () => open(`/room/${room}/wall`, `wall-${room}`))
  document.getElementById('save').addEventListener('click', saveDialog)
  document.getElementById('end').addEventListener('click', endDialog)
  document.addEventListener('keydown', event => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.shiftKey || document.querySelector('dialog[open]')) return
    if (event.target.closest('input, textarea, select, [role=slider], [role=radiogroup], svg, .aa, .gwt-keys')) return
    if (event.key === 'ArrowRight') { go(next()); event.preventDefault() }
    if (event.key === 'ArrowLeft') { go(back()); event.preventDefault() }
  })
  setInterval(tick, 1000)
}

function tell(words) { banner.hidden = !words; fill(banner, words ?? '') }

function status(now) {
  if (now === 'lost') tell('No connection to the room. Trying again; phones keep their answers meanwhile.')
  else if (now === 'open') tell('')
}

function closed(event) {
  tell(event.reason || 'The server does not know this room any more.')
  for (const b of moves.querySelectorAll('button')) b.disabled = true
}

function message(m) {
  if (m.type === 'welcome') { lesson = m.lesson; if (m.state) take(m.state) } else if (m.type === 'state') take(m)
  else if (m.type === 'counts') { const { type, version, ...counts } = m; if (state) { state = { ...state, counts }; draw() } }
  else if (m.type === 'trouble') tell(m.text)
}

// ---- going on --------------------------------------------------------------------------------------------------------

function phases(i) {
  return lesson.steps[i].phases
}
const short = () => brief && lesson.short?.length > 0
const inside = i => !short() || lesson.short.includes(i + 1)
function stepAlong(way) {
  let i = state.step + way
  while (i >= 0 && i < lesson.steps.length && !inside(i)) i += way
  return i >= 0 && i < lesson.steps.length ? i : null
}
const minutesOf = () => (short() ? lesson.short.reduce((sum, n) => sum + lesson.steps[n - 1].minutes, 0) : lesson.minutes)
function next() {
  const list = phases(state.step), at = list.indexOf(state.phase)
  if (at < list.length - 1) return { step: state.step, phase: list[at + 1] }
  const step = stepAlong(1)
  return step === null ? null : { step, phase: phases(step)[0] }
}
function back() {
  const list = phases(state.step), at = list.indexOf(state.phase)
  if (at > 0) return { step: state.step, phase: list[at - 1] }
  const step = stepAlong(-1)
  return step === null ? null : { step, phase: phases(step).at(-1) }
}
function go(place) {
  if (!place || state?.ended) return
  line.send({ type: 'go', ...place })
}
function nextWords() {
  const to = next()
  if (!to) return 'Last step'
  if (to.step === state.step) return `Next: ${COMES[to.phase] ?? to.phase}`
  return `Next: ${lesson.steps[to.step].title}`
}

function take(next) {
  const before = state
  state = next
  if (!lesson) return
  const now = Date.now()
  if (clock.from === null) clock.from = now
  if (clock.step !== state.step) clock = { ...clock, step: state.step, stepFrom: now,
    seen: [...new Set([...clock.seen, state.step])] }
  kept.set(CLOCK, clock)
  if (before && (before.step !== state.step || before.phase !== state.phase)) {
    const what = state.phase === 'vote' ? 'they guess' : COMES[state.phase] ?? 'shown'
    say(`Step ${state.step + 1}, ${lesson.steps[state.step].title}: ${what}`)
    shown.querySelector('.shown-scroll').scrollTo({ top: 0 })
  }
  if (!state.mirror) mirroring = mirroring && before?.step === state.step && !before?.mirror
  draw()
}

// Builds a region anew only when what it shows has changed, so that the focus stays where it is.
function region(node, key, make) {
  const text = JSON.stringify(key)
  if (keys.get(node) === text) return
  keys.set(node, text)
  const held = document.activeElement && node.contains(document.activeElement) ? document.activeElement.dataset.id : null
  fill(node, make())
  if (held) node.querySelector(`[data-id="${CSS.escape(held)}"]:not(:disabled)`)?.focus()
}

function draw() {
  const { view } = state
  region(plan, [lesson.slug, state.step, clock.seen, view.say, brief], planParts)
  if (planAt !== state.step) { planAt = state.step; plan.querySelector('[aria-current]')?.scrollIntoView({ block: 'nearest' }) }
  tick()
  const mirror = state.mirror ? state.mirror.settings ?? state.mirror : null
  renderStep(host, { ...view, phase: state.phase, bars: state.bars, mine: null, bench: null, benchSettings: null },
    { mode: 'control' })
  region(rightBox, [state.step, view.right ?? null, state.phase === 'reveal'],
    () => (view.question && view.right != null && state.phase !== 'reveal'
    ? el('details', { class: 'right-fold' }, el('summary', {}, 'What the model gives (only you see this)'),
      el('p', {}, el('b', {}, rightWords(view.question, view.right)))) : null))
  region(advice, [state.step, state.phase, share(), state.paused, state.ended], adviceParts)
  region(moves, [state.step, state.phase, state.paused, state.roam, Boolean(mirror), mirroring, state.ended, Boolean(view.bench),
    wordsOn(), Boolean(state.version), brief], moveParts)
  drawBenchPanel(view, mirror)
  region(people, [roster(), state.counts?.joined, state.counts?.here, state.counts?.answered, state.counts?.done, words(),
    Boolean(view.question), state.phase, view.kind], peopleParts)
}

// ---- left: plan --------------------------------------------------------------------------------------------------------

function planParts() {
  const { view } = state
  return [
    el('p', { class: 'over' }, 'Lesson'), el('h2', { class: 'lesson-title' }, lesson.title), clocks,
    lesson.short?.length ? el('label', { class: 'tick-row' }, shortBox(), `Short version, ${lesson.short.length} steps`) : null,
    el('ol', { class: 'plan-list' }, lesson.steps.map((step, i) => el('li', {}, button([
      el('span', { class: 'nr' }, String(step.number ?? i + 1)),
      el('span', { class: 'name' }, step.title, inside(i) ? null : el('span', { class: 'vh' }, ', not in the short version')),
      el('span', { class: 'min' }, i !== state.step && i < Math.max(...clock.seen, 0) + 1 && clock.seen.includes(i)
        ? el('span', {}, '\u2713', el('span', { class: 'vh' }, ' shown')) : minutes(step.minutes)),
    ], () => go({ step: i, phase: phases(i)[0] }),
      { class: `plan-step${inside(i) ? '' : ' outside'}`, 'data-id': `step-${i}`,
      'aria-current': i === state.step ? 'step' : null })))),
    view.say ? el('div', { class: 'say', tabindex: '0', role: 'group', 'aria-label': 'Say next' },
      el('p', { class: 'over', 'aria-hidden': 'true' }, 'Say next'), safe(view.say, { class: 'md' })) : null,
  ]
}

function shortBox() {
  const box = el('input', { type: 'checkbox', 'data-id': 'short', onchange: () => {
    brief = box.checked
    const held = kept.get(KEY)
    kept.set(KEY, { ...(held?.token ? held : { token: held }), short: brief })
    say(brief ? 'Next and Back go through the short version' : 'Next and Back go through all steps')
    draw()
  } })
  box.checked = brief
  return box
}

const mmss = s => {
  const whole = Math.abs(s)
  return `${s < 0 ? '\u2212' : ''}${Math.floor(whole / 60)}:${String(Math.floor(whole % 60)).padStart(2, '0')}`
}

function tick() {
  if (!lesson || !state || clock.from === null) return
  const now = Date.now()
  const left = minutesOf() * 60 - (now - clock.from) / 1000,
    step = lesson.steps[state.step].minutes * 60 - (now - clock.stepFrom) / 1000
  const words = [['Step, left', mmss(step), step < 0], ['Lesson, left', mmss(left), left < 0]]
  if (clocks.children.length !== 2) fill(clocks, words.map(([name]) => el('p', {}, el('span', {}, name), el('b', {}))))
  words.forEach(([, text, over], i) => {
    const shownTime = clocks.children[i].lastChild
    if (shownTime.textContent !== text) shownTime.textContent = text
    shownTime.classList.toggle('past', over)
  })
}

// ---- middle: moves, advice, bench ----------------------------------------------------------------------------------

const share = () => state.counts?.first_right ?? null
const wordsOn = () => state.words === true
const words = () => state.counts?.words ?? []
const roster = () => state.counts?.roster ?? []

function adviceParts() {
  const right = share()
  if (state.phase !== 'talk' || right === null || state.ended) return null
  const percent = `${Math.round(100 * right)} % were right.`
  const act = (label, place) => button(label, () => go(place), { 'data-id': `advice-${label}` })
  const here = phase => ({ step: state.step, phase })
  const after = phases(state.step).includes('bars') ? 'bars' : 'reveal'
  const [say_, did] = right < FEW ? ['Few had it. Show the picture again and say what it shows, then ask again.',
    act('Back to the question', here('vote'))]
    : right > MANY ? ['Most had it. A talk would add little: go on.', act('Show the answers', here(after))]
      : ['Worth a talk: two minutes with a neighbour, then ask again.', null]
  return el('div', { class: 'advice' }, el('p', {}, el('b', {}, percent), ` ${say_} `,
    el('span', { class: 'note' }, 'A rule of thumb, recalled with high certainty.')), did)
}

function moveParts() {
  const { view } = state, mirror = Boolean(state.mirror)
  const off = Boolean(state.ended)
  const set = (change, words) => { line.send({ type: 'set', ...change }); say(words) }
  return [
    el('div', { class: 'row main-moves' },
      button('\u2190 Back', () => go(back()), { 'data-id': 'back', disabled: off || !back(), 'aria-keyshortcuts': 'ArrowLeft' }),
      button(nextWords(), () => go(next()), { class: 'btn strong', 'data-id': 'next', disabled: off || !next(),
        'aria-keyshortcuts': 'ArrowRight' }),
      button(state.paused ? 'Go on' : 'Pause', () => set({ paused: !state.paused }, state.paused ? 'The room goes on' : 'Paused'),
        { 'data-id': 'pause', disabled: off, 'aria-pressed': String(Boolean(state.paused)) })),
    el('div', { class: 'row' }, !view.bench ? null : [
      button(state.roam ? 'Lock their benches' : 'Let them roam',
        () => set({ roam: !state.roam }, state.roam ? 'Locked' : 'They may roam'),
        { 'data-id': 'roam', disabled: off, 'aria-pressed': String(Boolean(state.roam)) }),
      button(mirror || mirroring ? 'Stop mirroring' : 'Mirror my scene', toggleMirror,
        { 'data-id': 'mirror', disabled: off, 'aria-pressed': String(mirror || mirroring) })],
      button(wordsOn() ? 'Take no more words' : 'Ask for their words',
        () => set({ words: !wordsOn() }, wordsOn() ? 'No more words' : 'Their phones ask for words'),
        { 'data-id': 'words', disabled: off, 'aria-pressed': String(wordsOn()) })),
    state.ended ? el('p', { class: 'note' }, 'The room has ended. Save the answers while they are kept.') : null,
  ]
}

function toggleMirror() {
  mirroring = !(state.mirror || mirroring)
  line.send({ type: 'mirror', settings: mirroring ? mirrorLast ?? startSettings() : null })
  say(mirroring ? 'Your scene is on every phone and on the wall' : 'Not mirrored')
  draw()
  if (mirroring) benchHost.scrollIntoView({ block: 'nearest' })
}

const startSettings = () => sendable(Object.fromEntries((state.view.bench?.settings ?? []).map(s => [s.path, s.value])))

function drawBenchPanel(view, mirror) {
  const on = Boolean(view.bench) && (Boolean(mirror) || mirroring || view.kind === 'roam' || state.roam)
  benchHost.hidden = !on
  if (!on) { benchHost.step?.clear(); mirrorLast = null; return }
  renderStep(benchHost, {
    number: view.number, of: view.of, title: mirror || mirroring ? 'My scene, as all see it' : 'My own bench', kind: 'bench',
      phase: 'show', html: '', pictures: [], bench: view.bench,
    benchSettings: benchHost.step ? null : mirror,
  }, { mode: 'wall', bench: settings => askBench({ slug: lesson.slug, step: state.step, settings }), benchChanged: changed })
}

// Every phone follows, so a drag is sent a few times a second and at its end.
function changed(settings) {
  mirrorLast = sendable(settings)
  if (!mirroring && !state.mirror) return
  if (benchTimer) return
  benchTimer = setTimeout(() => { benchTimer = 0; line.send({ type: 'mirror', settings: mirrorLast }) }, 150)
}

// ---- right: people and words -----------------------------------------------------------------------------------------

function peopleParts() {
  const { view } = state, list = roster(), counts = state.counts ?? {}
  const asks = Boolean(view.question) && ['vote', 'talk', 'again'].includes(state.phase)
  const showDone = view.kind === 'roam' || view.kind === 'talk'
  const n = counts.here ?? list.filter(p => p.here).length, joined = counts.joined ?? list.length
  const head = asks ? `${counts.answered ?? 0} of ${joined} have answered` : showDone
    ? `${counts.done ?? 0} of ${joined} are done` : `${n} here, ${joined} joined`
  const said = words()
  return [
    el('div', { class: 'people-head' }, el('h3', {}, head), el('span', { class: 'note' }, 'names are made up')),
    list.length ? el('ul', { class: 'roster' }, list.map(person => {
      const on = asks ? person.answered : showDone ? person.done : person.here
      const state_ = asks ? (person.answered ? 'has answered' : 'has not answered') : showDone
        ? (person.done ? 'is done' : 'is not done') : person.here ? 'is here' : 'is away'
      return el('li', { class: `${on ? 'on' : ''}${person.here === false ? ' away' : ''}` }, named(person.handle),
        el('span', { class: 'vh' }, ` ${state_}`), person.here === false
        ? el('span', { class: 'away-sign', 'aria-hidden': 'true' }, ' away') : null)
    })) : el('p', { class: 'note' }, 'Nobody has joined yet.'),
    said.length ? el('div', { class: 'said-list' }, el('h3', {}, 'Their words'),
      el('p', { class: 'note' }, 'Only those you show are on the wall.'),
      el('ul', {}, said.map(w => el('li', {}, el('p', {}, w.text, ' ', el('span', { class: 'note' }, named(w.handle))),
        button(w.shown ? 'Hide' : 'Show on the wall', () => line.send({ type: 'show_words', id: w.id, shown: !w.shown }),
        { 'data-id': `w-${w.id}`, 'aria-pressed': String(Boolean(w.shown)) }))))) : null,
  ]
}

// ---- dialogs ---------------------------------------------------------------------------------------------------------

function dialog(title, ...parts) {
  const d = el('dialog', { 'aria-labelledby': 'dialog-head' }, el('h2', { class: 'big', id: 'dialog-head' }, title), parts)
  d.addEventListener('close', () => d.remove())
  document.body.append(d)
  d.showModal()
  return d
}

function saveDialog() {
  const told = el('p', { class: 'trouble', role: 'alert' })
  const get = as => async () => {
    told.textContent = 'Being written.'
    try {
      const response = await fetch(`/room/${room}/report`,
        { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ token, as }) })
      if (!response.ok) { told.textContent = (await response.json().catch(() => ({}))).text ??
        'The server did not give the answers.'; return }
      const url = URL.createObjectURL(await response.blob())
      const a = el('a', { href: url, download: `answers-${room}.${as}` })
      document.body.append(a)
      a.click()
      a.remove()
      setTimeout(() => URL.revokeObjectURL(url), 10000)
      told.textContent = 'Saved by your browser.'
    } catch { told.textContent = 'No connection. Try again in a moment.' }
  }
  const d = dialog('Save answers',
    el('p', {}, 'Counted by step and round, before and after the talk. No name stands in them, not even a made-up one.'),
    el('div', { class: 'row' }, button('As a page (HTML)', get('html'), { class: 'btn strong' }),
      button('As a table (CSV)', get('csv'))), told, el('div', { class: 'row' }, button('Close', () => d.close())))
}

function endDialog() {
  if (state?.ended) { dialogEnded(); return }
  const d = dialog('End the room for all?', el('p', {},
    'Phones show a thank-you and their own summary. Nobody can answer or join after that. Save the answers before or soon after.',
  ),
    el('div', { class: 'row' }, button('Not yet', () => d.close(), { class: 'btn strong' }),
      button('End the room', () => { ending = line.send({ type: 'end' }); d.close();
      say(ending ? 'The room ends' : 'No connection') })))
}

function dialogEnded() { const d = dialog('The room has ended',
  el('p', {}, 'Its answers can still be saved while they are kept.'),
  el('div', { class: 'row' }, button('Close', () => d.close()))) }

