// What the projector shows: the question large, one square a person, the picture when its time has come. Nothing private.

import { connect } from './connect.js'
import { askBench, code, el, fill, kept, say } from './dom.js'
import { renderStep, squares } from './step.js'

const room = code(), app = document.getElementById('app'), main = document.getElementById('wall-main'),
  people = document.getElementById('people')
const banner = el('p', { class: 'banner', role: 'status', hidden: true }), top = el('div', { class: 'wall-top' }),
  host = el('div', {}), words = el('ul', { class: 'wall-words' })
const PHASES = { vote: 'Your guess', talk: 'Talk it over', again: 'Your guess again', bars: 'What the room said', look: 'Look',
  reveal: 'What the model gives' }
let lesson = null, state = null, topKey = '', peopleKey = '', wordsKey = '', fitKey = ''

const held = kept.get(`gw-room-${room}`)
let line = null
if (held) begin()
else fill(main, el('div', { class: 'column narrow' }, el('h2', { class: 'big' }, 'The wall view opens from the control page'),
  el('p', { class: 'lead' }, 'Open it in the browser that opened the room.')))

function begin() {
  fill(main, banner, top, host, words)
  line = connect({
    code: room, role: 'wall', token: held.token ?? held,
    on: {
      message(m) {
        if (m.type === 'welcome') {
          lesson = m.lesson
          if (m.state) show(m.state)
        } else if (m.type === 'state') show(m)
        else if (m.type === 'counts') {
          const { type, version, ...counts } = m
          if (state) show({ ...state, counts })
        } else if (m.type === 'trouble') tell(m.text)
      },
      status(now) { tell(now === 'lost' ? 'No connection. Trying again.' : now === 'open' ? '' : banner.textContent) },
      closed(event) { tell(event.reason || 'This room is closed.') },
      refused(m) { tell(m.text) },
    },
  })
}

// Nobody scrolls the wall: where a column is too full it gives up, in this order, squares, size and what was said before.
function fit() {
  for (const column of host.querySelectorAll(':scope > :is(.told, .asked)')) {
    for (let tight = 0; tight <= 4; tight++) {
      column.dataset.tight = String(tight)
      if (column.scrollHeight <= column.clientHeight + 2) break
    }
  }
}
for (const on of ['resize', 'gw-look', 'gwt-font', 'gwt-drawn']) window.addEventListener(on, () => fit())

function tell(text) { banner.hidden = !text; banner.textContent = text ?? '' }

function show(next) {
  const moved = !state || state.step !== next.step || state.phase !== next.phase || state.paused !== next.paused ||
    state.ended !== next.ended
  state = next
  const { view } = state
  document.getElementById('lesson-title').textContent = lesson?.title ?? ''
  document.getElementById('where').textContent = `Step ${view.number} of ${view.of}`
  app.dataset.phase = state.phase
  const begin = state.step === 0 && (state.phase === 'show' || state.phase === 'vote')
  app.classList.toggle('begin', begin)
  app.classList.toggle('still', Boolean(state.paused || state.ended))
  const asks = view.question && ['vote', 'again'].includes(state.phase)
  const counts = state.counts ?? {}, joined = counts.joined ?? 0

  const title = state.ended ? 'The room has ended. Thank you.' : state.paused ? 'Pause' : view.title
  const key = JSON.stringify([title, state.phase, view.number, asks, state.mirror ? 1 : 0])
  if (key !== topKey) {
    topKey = key
    const phase = state.ended || state.paused ? '' : state.mirror ? 'Watch what moves' : state.roam && !view.question
      ? 'Yours to try' : PHASES[state.phase] ?? ''
    fill(top, el('h2', { class: 'big', tabindex: '-1' }, title), phase ? el('p', { class: 'phase' }, phase) : null)
  }
  host.hidden = Boolean(state.paused || state.ended)
  words.hidden = host.hidden
  const mirror = state.mirror ? state.mirror.settings ?? state.mirror : null
  if (!host.hidden) {
    // Where all try for themselves the wall shows the scene that they start from.
    const bench = mirror || view.kind === 'roam' ? view.bench : null
    renderStep(host, { ...view, phase: state.phase, bars: state.bars, mine: null, bench, benchMode: 'mirror',
      benchSettings: mirror },
      { mode: 'wall', bench: settings => askBench({ slug: lesson.slug, step: state.step, settings }) })
    const now = JSON.stringify([state.step, state.phase, state.bars, Boolean(bench)])
    if (now !== fitKey) { fitKey = now; fit() }
  }
  const n = asks ? counts.answered ?? 0 : view.kind === 'roam' || view.kind === 'talk' ? counts.done ?? 0 : counts.here ?? joined
  const label = asks ? 'answered' : view.kind === 'roam' || view.kind === 'talk' ? 'done' : 'here'
  const pKey = JSON.stringify([n, joined, label, state.ended])
  if (pKey !== peopleKey) {
    peopleKey = pKey
    fill(people, state.ended ? null : [el('p', { class: 'count' }, el('b', {}, String(n)), ` of ${joined} ${label}`),
      squares(n, { filled: true, most: 100, of: joined })])
  }
  const list = counts.words ?? []
  const wKey = JSON.stringify(list)
  if (wKey !== wordsKey) {
    wordsKey = wKey
    fill(words, list.map(w => el('li', {}, w)))
    words.classList.toggle('some', list.length > 0)
  }
  if (moved) say(`${PHASES[state.phase] ?? ''} ${title}`)
}
