// Where the educator leads the room: the plan and what to say, what the room sees, who is there, and what comes next.

import { rightWords } from './answers.js'
import { setClock } from './clock.js'
import { connect } from './connect.js'
import { COMES, back, go, learn, leadBy, lesson, line, onward, room, stand, state, token } from './control/leading.js'
import { adviceParts, moveParts, share, wordsOn } from './control/moves.js'
import { benchHost, drawBenchPanel } from './control/own_bench.js'
import { peopleParts, roster } from './control/people.js'
import { planParts, tick } from './control/plan.js'
import { endDialog, inviteDialog, saveDialog } from './dialogs.js'
import { el, fill, say } from './dom.js'
import { gatherParts } from './gather.js'
import { renderStep } from './step.js'
import { ways } from './ways.js'

const plan = document.getElementById('plan'),
  shown = document.getElementById('shown'),
  people = document.getElementById('people')
const banner = el('p', { class: 'banner', role: 'status', hidden: true })
const host = el('div', {}),
  rightBox = el('div', {}),
  advice = el('div', { 'aria-live': 'polite' }),
  moves = el('div', { class: 'moves', role: 'group', 'aria-label': 'Lead the room' })
const gather = el('div', { class: 'gather', hidden: true })
const keys = new Map()

let planAt = -1,
  invited = null
const join = ways(() => line)

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
  const opened = connect({
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
  leadBy(opened, end, tell)
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
    learn(m.lesson)
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
      stand({ ...state, counts })
      draw()
    }
  } else if (m.type === 'trouble') tell(m.text)
}

function take(next) {
  const before = state
  stand(next)
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
