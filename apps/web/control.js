// Where the educator leads the room: the plan and what to say, what the room sees, who is there, and what comes next.

import { rightWords } from './answers.js'
import { mmss, setClock, used } from './clock.js'
import { connect } from './connect.js'
import { endDialog, inviteDialog, outDialog, saveDialog } from './dialogs.js'
import { button, code, el, fill, kept, minutes, named, post, safe, say, sendable } from './dom.js'
import { gatherParts } from './gather.js'
import { renderStep } from './step.js'
import { ways } from './ways.js'

const room = code(),
  KEY = `gw-room-${room}`
const COMES = {
  talk: 'talk it over',
  again: 'ask again',
  bars: 'show the room\u2019s answers',
  look: 'show the picture',
  reveal: 'show what the model gives',
}
// Worth a talk between these shares of right answers (common practice, no source).
const FEW = 0.3,
  MANY = 0.7

const plan = document.getElementById('plan'),
  shown = document.getElementById('shown'),
  people = document.getElementById('people')
const banner = el('p', { class: 'banner', role: 'status', hidden: true })
const host = el('div', {}),
  rightBox = el('div', {}),
  advice = el('div', { 'aria-live': 'polite' }),
  moves = el('div', { class: 'moves', role: 'group', 'aria-label': 'Lead the room' })
const gather = el('div', { class: 'gather', hidden: true })
const benchHost = el('div', { class: 'mirror-host', hidden: true })
const clocks = el('div', { class: 'clocks', role: 'timer', 'aria-label': 'Time left' })
const keys = new Map()

let line = null,
  state = null,
  lesson = null,
  benchTimer = 0,
  benchStep = -1,
  mirrorLast = null,
  planAt = -1,
  invited = null
// What each step was used for stands in the room's own clock.
const seen = i => Object.keys(state.clock?.spent ?? {}).some(place => place.startsWith(`${i} `)) || i === state.step
const join = ways(() => line)

const token = kept.get(KEY)?.token ?? kept.get(KEY)
if (!token) {
  fill(
    document.getElementById('app'),
    el(
      'div',
      { class: 'column narrow' },
      el('h2', { class: 'big' }, 'This room was opened in another browser'),
      el(
        'p',
        { class: 'lead' },
        'To lead it from here as well, press \u201cAnother device\u201d there, and type the code that it shows.',
      ),
      el(
        'div',
        { class: 'row' },
        el('a', { class: 'btn strong', href: '/lead' }, 'Type a code'),
        el('a', { class: 'btn', href: '/teach' }, 'To the lessons'),
        el('a', { class: 'btn', href: `/join?code=${encodeURIComponent(room)}` }, 'Join this room'),
      ),
    ),
  )
  for (const id of ['open-wall', 'invite', 'save', 'end']) document.getElementById(id).hidden = true
} else queueMicrotask(begin)

function begin() {
  fill(plan)
  shown.append(banner, el('div', { class: 'shown-scroll' }, gather, host, rightBox, benchHost), advice, moves)
  line = connect({
    code: room,
    role: 'control',
    token,
    on: {
      message,
      status,
      refused: m => {
        say(m.text)
        tell(m.text)
      },
      closed,
    },
  })
  document.getElementById('open-wall').addEventListener('click', () => open(`/room/${room}/wall`, `wall-${room}`))
  document.getElementById('invite').addEventListener('click', () => {
    invited = inviteDialog(
      role => line.send({ type: 'invite', role }),
      () => state?.address,
    )
  })
  document.getElementById('save').addEventListener('click', () => saveDialog(room, token))
  document.getElementById('end').addEventListener('click', end)
  document.addEventListener('keydown', event => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.shiftKey || document.querySelector('dialog[open]')) return
    if (event.target.closest('input, textarea, select, [role=slider], [role=radiogroup], svg, .aa, .gwt-keys')) return
    if (event.key === 'ArrowRight') {
      onward()
      event.preventDefault()
    }
    if (event.key === 'ArrowLeft') {
      go(back())
      event.preventDefault()
    }
  })
  setInterval(tick, 1000)
}

function end() {
  endDialog(room, token, state?.ended, () => say(line.send({ type: 'end' }) ? 'The room ends' : 'No connection'))
}

function tell(words) {
  banner.hidden = !words
  fill(banner, words ?? '')
}

function status(now) {
  if (now === 'lost') tell('No connection to the room. Trying again; phones keep their answers meanwhile.')
  else if (now === 'open') tell('')
}

function closed(event) {
  tell(event.reason || 'The server does not know this room any more.')
  for (const b of moves.querySelectorAll('button')) b.disabled = true
}

function message(m) {
  if (m.type === 'welcome') {
    lesson = m.lesson
    if (m.state) {
      setClock(m.state)
      take(m.state)
    }
  } else if (m.type === 'state') {
    setClock(m)
    take(m)
  } else if (m.type === 'invited') invited?.(m)
  else if (m.type === 'counts') {
    const { type, version, ...counts } = m
    if (state) {
      state = { ...state, counts }
      draw()
    }
  } else if (m.type === 'trouble') tell(m.text)
}

// ---- going on --------------------------------------------------------------------------------------------------------

function phases(i) {
  return lesson.steps[i].phases
}
const short = () => state.brief && lesson.short?.length > 0
const inside = i => !short() || lesson.short.includes(i + 1)
function stepAlong(way) {
  let i = state.step + way
  while (i >= 0 && i < lesson.steps.length && !inside(i)) i += way
  return i >= 0 && i < lesson.steps.length ? i : null
}
const minutesOf = () => lesson.steps.reduce((sum, step, i) => sum + (inside(i) ? step.room_minutes : 0), 0)
function next() {
  const list = phases(state.step),
    at = list.indexOf(state.phase)
  if (at < list.length - 1) return { step: state.step, phase: list[at + 1] }
  const step = stepAlong(1)
  return step === null ? null : { step, phase: phases(step)[0] }
}
function back() {
  const list = phases(state.step),
    at = list.indexOf(state.phase)
  if (at > 0) return { step: state.step, phase: list[at - 1] }
  const step = stepAlong(-1)
  return step === null ? null : { step, phase: phases(step).at(-1) }
}
function go(place) {
  if (!place || state?.ended) return
  line.send({ type: 'go', ...place })
}
function onward() {
  if (state?.ended) return
  if (state.gathering) line.send({ type: 'begin' })
  else if (next()) go(next())
  else end()
}
function nextWords() {
  if (state.gathering) return `Begin: ${lesson.steps[state.step].title}`
  const to = next()
  if (!to) return 'End, and save the report'
  if (to.step === state.step) return `Next: ${COMES[to.phase] ?? to.phase}`
  return `Next: ${lesson.steps[to.step].title}`
}

function take(next) {
  const before = state
  state = next
  if (!lesson) return
  join.show(state.address)
  if (before?.gathering && !state.gathering) say('The lesson begins')
  if (before && (before.step !== state.step || before.phase !== state.phase)) {
    const what = state.phase === 'vote' ? 'they guess' : (COMES[state.phase] ?? 'shown')
    say(`Step ${state.step + 1}, ${lesson.steps[state.step].title}: ${what}`)
    shown.querySelector('.shown-scroll').scrollTo({ top: 0 })
  }
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
  region(plan, [lesson.slug, state.step, state.clock?.spent, view.say, state.brief], planParts)
  if (planAt !== state.step) {
    planAt = state.step
    plan.querySelector('[aria-current]')?.scrollIntoView({ block: 'nearest' })
  }
  tick()
  const mirror = state.mirror?.settings ?? null
  gather.hidden = !state.gathering
  host.hidden = rightBox.hidden = Boolean(state.gathering)
  region(gather, [state.gathering, state.reached, state.counts?.joined], () =>
    state.gathering ? gatherParts(state, join.any) : null,
  )
  if (!state.gathering)
    renderStep(
      host,
      { ...view, phase: state.phase, bars: state.bars, mine: null, bench: null, benchSettings: null, shut: state.shut },
      { mode: 'control' },
    )
  region(rightBox, [state.step, view.right ?? null, state.phase === 'reveal'], () =>
    view.question && view.right != null && state.phase !== 'reveal'
      ? el(
          'details',
          { class: 'right-fold' },
          el('summary', {}, 'What the model gives (only you see this)'),
          el('p', {}, el('b', {}, rightWords(view.question, view.right))),
        )
      : null,
  )
  region(advice, [state.step, state.phase, share(), state.counts?.answered, state.shut, state.ended], adviceParts)
  region(
    moves,
    [
      state.step,
      state.phase,
      state.paused,
      state.roam,
      Boolean(mirror),
      state.ended,
      Boolean(view.bench),
      wordsOn(),
      Boolean(state.version),
      state.brief,
      state.gathering,
      state.call,
      Boolean(state.best),
      view.bench?.goals?.length ?? 0,
    ],
    moveParts,
  )
  drawBenchPanel(view, mirror)
  region(
    people,
    [roster(), state.counts, Boolean(view.question), state.phase, view.kind, state.door_shut, state.ended],
    peopleParts,
  )
}

// ---- left: plan --------------------------------------------------------------------------------------------------------

function planParts() {
  const { view } = state
  return [
    el('p', { class: 'over' }, 'Lesson'),
    el('h2', { class: 'lesson-title' }, lesson.title),
    clocks,
    lesson.short?.length ? el('label', { class: 'tick-row' }, shortBox(), `Short version, ${lesson.short.length} steps`) : null,
    el(
      'ol',
      { class: 'plan-list' },
      lesson.steps.map((step, i) =>
        el(
          'li',
          {},
          button(
            [
              el('span', { class: 'nr' }, String(step.number ?? i + 1)),
              el(
                'span',
                { class: 'name' },
                step.title,
                inside(i) ? null : el('span', { class: 'vh' }, ', not in the short version'),
              ),
              el(
                'span',
                { class: 'min' },
                i !== state.step && seen(i)
                  ? el('span', {}, '\u2713', el('span', { class: 'vh' }, ' shown'))
                  : minutes(step.room_minutes),
              ),
            ],
            () => go({ step: i, phase: phases(i)[0] }),
            {
              class: `plan-step${inside(i) ? '' : ' outside'}`,
              'data-id': `step-${i}`,
              'aria-current': i === state.step ? 'step' : null,
            },
          ),
        ),
      ),
    ),
    view.say
      ? el(
          'div',
          { class: 'say', tabindex: '0', role: 'group', 'aria-label': 'Say next' },
          el('p', { class: 'over', 'aria-hidden': 'true' }, 'Say next'),
          safe(view.say, { class: 'md' }),
        )
      : null,
  ]
}

function shortBox() {
  const box = el('input', {
    type: 'checkbox',
    'data-id': 'short',
    onchange: () => {
      line.send({ type: 'set', brief: box.checked })
      say(box.checked ? 'Next and Back go through the short version' : 'Next and Back go through all steps')
    },
  })
  box.checked = state.brief === true
  return box
}

function tick() {
  if (!lesson || !state) return
  const time = used(state)
  const left = minutesOf() * 60 - time.lesson,
    step = lesson.steps[state.step].room_minutes * 60 - time.step
  const words = [
    ['Step, left', mmss(step), step < 0],
    ['Lesson, left', mmss(left), left < 0],
  ]
  clocks.classList.toggle('stands', !time.running)
  if (clocks.children.length !== 2)
    fill(
      clocks,
      words.map(([name]) => el('p', {}, el('span', {}, name), el('b', {}))),
    )
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

// Said while they vote, before the wall says "talk": whether a talk is worth it, and the way past it.
function adviceParts() {
  const right = share(),
    voting = state.phase === 'vote'
  if (!(voting || state.phase === 'talk') || right === null || state.ended || state.shut || state.gathering) return null
  const percent = `${Math.round(100 * right)} % ${voting ? 'right so far.' : 'were right.'}`
  const act = (label, phase) => button(label, () => go({ step: state.step, phase }), { 'data-id': `advice-${label}` })
  const words =
    right < FEW
      ? voting
        ? 'Few have it. Say again what is asked before they talk.'
        : 'Few had it. Show the picture again and say what it shows, then ask again.'
      : right > MANY
        ? `Most ${voting ? 'have' : 'had'} it. A talk would add little.`
        : 'Worth a talk: two minutes with a neighbour, then ask again.'
  return el(
    'div',
    { class: 'advice' },
    el('p', {}, el('b', {}, percent), ` ${words}`),
    !voting && right < FEW ? act('Back to the question', 'vote') : null,
    act('Straight to the answer', 'reveal'),
  )
}

function moveParts() {
  const { view } = state,
    mirror = Boolean(state.mirror),
    goals = view.bench?.goals?.length > 0
  const off = Boolean(state.ended)
  const set = (change, words) => {
    line.send({ type: 'set', ...change })
    say(words)
  }
  return [
    el(
      'div',
      { class: 'row main-moves' },
      button('\u2190 Back', () => go(back()), {
        'data-id': 'back',
        disabled: off || state.gathering || !back(),
        'aria-keyshortcuts': 'ArrowLeft',
      }),
      button(nextWords(), onward, { class: 'btn strong', 'data-id': 'next', disabled: off, 'aria-keyshortcuts': 'ArrowRight' }),
      button(
        state.paused ? 'Go on' : 'Pause',
        () => set({ paused: !state.paused }, state.paused ? 'The room goes on' : 'Paused'),
        { 'data-id': 'pause', disabled: off || state.gathering, 'aria-pressed': String(Boolean(state.paused)) },
      ),
    ),
    state.gathering
      ? null
      : el(
          'div',
          { class: 'row' },
          button(mirror ? 'Stop showing my scene' : 'My scene', toggleMirror, {
            'data-id': 'mirror',
            disabled: off,
            'aria-pressed': String(mirror),
          }),
          !view.bench || view.kind === 'roam'
            ? null
            : button(
                state.roam ? 'Lock their benches' : 'Let them roam',
                () => set({ roam: !state.roam }, state.roam ? 'Locked' : 'They may roam'),
                { 'data-id': 'roam', disabled: off, 'aria-pressed': String(Boolean(state.roam)) },
              ),
          goals
            ? button(
                state.best ? 'Hide the best' : 'Draw the best',
                () => {
                  line.send({ type: 'best', shown: !state.best })
                  say(state.best ? 'Hidden' : 'Worked out, then on the wall')
                },
                { 'data-id': 'best', disabled: off, 'aria-pressed': String(Boolean(state.best)) },
              )
            : null,
          button(
            state.call ? 'Put the code away' : 'Show the code',
            () => set({ call: !state.call }, state.call ? 'The code is small' : 'The code is large on the wall'),
            { 'data-id': 'call', disabled: off, 'aria-pressed': String(Boolean(state.call)) },
          ),
          button(
            wordsOn() ? 'Take no more words' : 'Ask for their words',
            () => set({ words: !wordsOn() }, wordsOn() ? 'No more words' : 'Their phones ask for words'),
            { 'data-id': 'words', disabled: off, 'aria-pressed': String(wordsOn()) },
          ),
        ),
    state.ended ? el('p', { class: 'note' }, 'The room has ended. Save the answers while they are kept.') : null,
  ]
}

function toggleMirror() {
  const on = !state.mirror
  if (on && !benchHost.step) {
    openBench(true)
    return
  }
  line.send({ type: 'mirror', settings: on ? (mirrorLast ?? benchHost.settings ?? {}) : null })
  say(on ? 'Your scene is on every phone and on the wall' : 'Your scene is yours again')
}

const mine = body => post(`/room/${room}/mine`, { token, step: state.step, ...body })

// The educator's own bench: pads, current, wrist, tone and hand in every step; what it shows to all is worked out by the server.
async function openBench(show) {
  const step = state.step
  try {
    const { ok, data } = await mine({})
    if (!ok) {
      tell(data.text ?? 'The scene could not be worked out.')
      return
    }
    if (step !== state.step) return
    benchStep = step
    benchHost.hidden = false
    const before = state.mirror?.settings
    benchHost.settings = sendable(Object.fromEntries(data.settings.map(s => [s.path, s.value])))
    renderStep(
      benchHost,
      {
        number: state.view.number,
        of: state.view.of,
        title: 'My scene',
        kind: 'bench',
        phase: 'show',
        html: '',
        pictures: [],
        bench: data,
        benchSettings: before ?? null,
      },
      { mode: 'control', bench: newest, benchChanged: changed },
    )
    if (show) line.send({ type: 'mirror', settings: benchHost.settings })
    say(show ? 'Your scene is on every phone and on the wall' : '')
    benchHost.scrollIntoView({ block: 'nearest' })
  } catch {
    tell('No connection. Try again in a moment.')
  }
}

async function newest(settings) {
  const { ok, data } = await mine({ settings: sendable(settings) })
  if (!ok) throw new Error(data.text ?? 'This could not be worked out. Try again.')
  return data
}

// It stays open once it was, until the step changes; another device that leads finds it open where a scene is shown.
function drawBenchPanel(view, mirror) {
  if (benchHost.step && benchStep !== state.step) {
    benchHost.step.clear()
    benchHost.hidden = true
    mirrorLast = null
  }
  if (mirror && !benchHost.step && benchStep !== state.step) {
    benchStep = state.step
    openBench(false)
  }
}

// Every phone follows, so a drag is sent a few times a second and at its end.
function changed(settings) {
  mirrorLast = sendable(settings)
  if (!state.mirror || benchTimer) return
  benchTimer = setTimeout(() => {
    benchTimer = 0
    if (state.mirror) line.send({ type: 'mirror', settings: mirrorLast })
  }, 150)
}

// ---- right: people and words -----------------------------------------------------------------------------------------

function peopleParts() {
  const { view } = state,
    list = roster(),
    counts = state.counts ?? {}
  const asks = Boolean(view.question) && ['vote', 'talk', 'again'].includes(state.phase)
  const showDone = view.kind === 'roam' || view.kind === 'talk'
  const n = counts.here ?? list.filter(p => p.here).length,
    joined = counts.joined ?? list.length
  const of = counts.of ?? joined
  const head =
    asks && !state.gathering
      ? `${counts.answered ?? 0} of ${of} have answered`
      : showDone && !state.gathering
        ? `${counts.done ?? 0} of ${of} are done`
        : `${n} here, ${joined} joined`
  const said = words()
  return [
    el('div', { class: 'people-head' }, el('h3', {}, head), el('span', { class: 'note' }, 'names are made up')),
    doorParts(list.length),
    list.length
      ? el(
          'ul',
          { class: 'roster' },
          list.map(person => {
            const on = asks ? person.answered : showDone ? person.done : person.here
            const state_ = asks
              ? person.answered
                ? 'has answered'
                : 'has not answered'
              : showDone
                ? person.done
                  ? 'is done'
                  : 'is not done'
                : person.here
                  ? 'is here'
                  : 'is away'
            return el(
              'li',
              { class: `${on ? 'on' : ''}${person.here === false ? ' away' : ''}` },
              named(person.handle),
              el('span', { class: 'vh' }, ` ${state_}`),
              person.here === false ? el('span', { class: 'away-sign', 'aria-hidden': 'true' }, ' away') : null,
            )
          }),
        )
      : el('p', { class: 'note' }, 'Nobody has joined yet.'),
    unclear(counts),
    said.length
      ? el(
          'div',
          { class: 'said-list' },
          el('h3', {}, 'Their words'),
          el('p', { class: 'note' }, 'Only those you show are on the wall.'),
          el(
            'ul',
            {},
            said.map(w =>
              el(
                'li',
                {},
                el('p', {}, w.text, ' ', el('span', { class: 'note' }, named(w.handle))),
                button(
                  w.shown ? 'Hide' : 'Show on the wall',
                  () => line.send({ type: 'show_words', id: w.id, shown: !w.shown }),
                  { 'data-id': `w-${w.id}`, 'aria-pressed': String(Boolean(w.shown)) },
                ),
              ),
            ),
          ),
        )
      : null,
  ]
}

// Against those who do not belong here.
function doorParts(some) {
  const shut = state.door_shut === true
  return el(
    'div',
    { class: 'row door' },
    button(
      shut ? 'Open the door' : 'Shut the door',
      () => {
        line.send({ type: 'set', door_shut: !shut })
        say(shut ? 'The door is open' : 'Nobody new comes in')
      },
      { 'data-id': 'door', disabled: Boolean(state.ended), 'aria-pressed': String(shut) },
    ),
    button('Send out', () => outDialog(shut, newest => line.send({ type: 'empty', newest_s: newest })), {
      'data-id': 'send-out',
      disabled: Boolean(state.ended) || !some,
      'aria-haspopup': 'dialog',
    }),
  )
}

// What was not understood: how many in this step, and all that was said of it, newest first.
function unclear({ unclear: list = [], unclear_now: now = 0 }) {
  if (!list.length) return null
  const said = list.filter(u => u.text)
  return el(
    'div',
    { class: 'said-list' },
    el('h3', {}, `${now} ${now === 1 ? 'does' : 'do'} not understand this step`),
    list.length > now ? el('p', { class: 'note' }, `${list.length} in the whole lesson.`) : null,
    said.length
      ? el(
          'ul',
          {},
          said.map(u => el('li', {}, el('p', {}, u.text, ' ', el('span', { class: 'note' }, `step ${u.step + 1}`)))),
        )
      : null,
  )
}
