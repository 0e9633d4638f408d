// What the projector shows: the question large, one square a person, the picture when its time has come. Nothing private.

import { mmss, setClock, TALK_S, used } from './clock.js'
import { connect } from './connect.js'
import { code, el, fill, kept, previewed, say } from './dom.js'
import { solutions } from './dots.js'
import { mirrored } from './mirror.js'
import { renderStep } from './step.js'
import { squares } from './step/room_said.js'
import { ways } from './ways.js'

const room = code(),
  app = document.getElementById('app'),
  main = document.getElementById('wall-main'),
  people = document.getElementById('people')
const banner = el('p', { class: 'banner', role: 'status', hidden: true }),
  top = el('div', { class: 'wall-top' }),
  host = el('div', {}),
  scene = el('div', { class: 'mirror-host', hidden: true }),
  dots = el('div', { class: 'dots-host', hidden: true }),
  gather = el('div', { class: 'wall-gather', hidden: true }),
  timer = el('p', { class: 'timer', role: 'timer', hidden: true }),
  words = el('ul', { class: 'wall-words' })
const PHASES = {
  vote: 'Your guess',
  talk: 'Talk it over',
  again: 'Your guess again',
  bars: 'What the room said',
  look: 'Look',
  reveal: 'What the model gives',
}
let lesson = null,
  state = null,
  topKey = '',
  peopleKey = '',
  wordsKey = '',
  fitKey = ''

const held = previewed ? 'preview' : (kept.get(`gw-room-${room}`) ?? kept.get(`gw-wall-${room}`))
let line = null
const join = ways(() => line)
// All sizes here are shares of the height, whatever the window: the layout of the wall is that of no other page.
const asWall = () => {
  if (document.documentElement.dataset.layout !== 'wall') document.documentElement.dataset.layout = 'wall'
}
asWall()
new MutationObserver(asWall).observe(document.documentElement, { attributes: true, attributeFilter: ['data-layout'] })
if (held) begin()
else
  fill(
    main,
    el(
      'div',
      { class: 'column narrow' },
      el('h2', { class: 'big' }, 'The wall view opens from the control page'),
      el(
        'p',
        { class: 'lead' },
        'Open it in the browser that leads the room, or press \u201cAnother device\u201d there and type the code here.',
      ),
      el('div', { class: 'row' }, el('a', { class: 'btn strong', href: '/lead' }, 'Type a code')),
    ),
  )

function begin() {
  fill(main, banner, top, gather, scene, host, dots, words)
  setInterval(tick, 500)
  line = connect({
    code: room,
    role: 'wall',
    token: held.token ?? held,
    on: {
      message(m) {
        if (m.type === 'welcome') {
          lesson = m.lesson
          if (m.state) {
            setClock(m.state)
            show(m.state)
          }
        } else if (m.type === 'state') {
          setClock(m)
          show(m)
        } else if (m.type === 'counts') {
          const { type, version, ...counts } = m
          if (state) show({ ...state, counts })
        } else if (m.type === 'trouble') tell(m.text)
      },
      status(now) {
        tell(now === 'lost' ? 'No connection. Trying again.' : now === 'open' ? '' : banner.textContent)
      },
      closed(event) {
        tell(event.reason || 'This room is closed.')
      },
      refused(m) {
        tell(m.text)
      },
    },
  })
}

// Nobody scrolls the wall, and nothing on it gets smaller than can be read: where a column is too full it gives up squares and
// spaces first, then the end of the reason, which every phone has whole.
function fit() {
  for (const column of host.querySelectorAll(':scope > :is(.told, .asked)')) {
    const over = () => column.scrollHeight > column.clientHeight + 2
    const reason = [...column.querySelectorAll('.reason > *, .part-text .md > *')]
    for (const part of reason) part.hidden = false
    column.querySelector('.more-on-phone')?.remove()
    for (let tight = 0; tight <= 3; tight++) {
      column.dataset.tight = String(tight)
      if (!over()) break
    }
    let cut = false
    while (over() && reason.length) {
      reason.pop().hidden = true
      cut = true
    }
    if (cut)
      column
        .querySelector('.reason, .part-text .md')
        ?.append(
          el(
            'p',
            { class: 'more-on-phone' },
            reason.length ? 'The rest stands on your phone.' : 'What to do stands on your phone.',
          ),
        )
    if (cut && over() && reason.length) reason.pop().hidden = true
  }
}

// The talk has its time on the wall; a pause stops it.
function tick() {
  const on = state && lesson && state.phase === 'talk' && !state.paused && !state.ended && !state.gathering
  timer.hidden = !on
  if (!on) return
  const left = TALK_S - used(state).phase,
    text = left > 0 ? mmss(Math.ceil(left)) : 'time'
  if (timer.textContent !== text) timer.textContent = text
}
for (const on of ['resize', 'gw-look', 'gwt-font', 'gwt-drawn']) window.addEventListener(on, () => fit())
document.fonts.addEventListener('loadingdone', () => fit())

function tell(text) {
  banner.hidden = !text
  banner.textContent = text ?? ''
}

function show(next) {
  const at = {}
  const moved =
    !state || state.step !== next.step || state.phase !== next.phase || state.paused !== next.paused || state.ended !== next.ended
  state = next
  const { view } = state
  document.getElementById('lesson-title').textContent = lesson?.title ?? ''
  document.getElementById('where').textContent = `Step ${view.number} of ${view.of}`
  app.dataset.phase = state.phase
  join.show(state.address)
  at.calling = Boolean((state.gathering || state.call) && !state.ended)
  app.classList.toggle('begin', at.calling)
  app.classList.toggle('still', Boolean(state.paused || state.ended))
  at.asks = view.question && ['vote', 'again'].includes(state.phase)
  const counts = state.counts ?? {}
  at.joined = counts.joined ?? 0

  at.title = state.ended
    ? 'The room has ended. Thank you.'
    : state.gathering
      ? (lesson?.title ?? '')
      : state.call
        ? 'Join the room'
        : state.paused
          ? 'Pause'
          : state.mirror
            ? 'Watch what moves'
            : view.title
  showHead(view, at)
  showStep(view, counts, at)
  tick()
  showPeople(view, counts, at)
  showWords(counts)
  if (moved) say(`${PHASES[state.phase] ?? ''} ${at.title}`)
}

function showHead(view, at) {
  const key = JSON.stringify([at.title, state.phase, view.number, at.asks, state.mirror ? 1 : 0, at.calling, state.shut])
  if (key !== topKey) {
    topKey = key
    const phase =
      state.ended || state.paused || state.mirror || at.calling
        ? ''
        : state.roam && !view.question
          ? 'Yours to try'
          : state.shut && at.asks
            ? 'This vote is closed'
            : (PHASES[state.phase] ?? '')
    fill(
      top,
      el('h2', { class: 'big', tabindex: '-1' }, at.title),
      el('div', { class: 'phase-row' }, phase ? el('p', { class: 'phase' }, phase) : null, timer),
    )
  }
}

// What the educator shows takes over the whole wall: hand and curve, nothing else.
function showStep(view, counts, at) {
  const still = Boolean(state.paused || state.ended || at.calling)
  const mirroring = mirrored(scene, still ? null : state.mirror)
  app.classList.toggle('mirroring', mirroring)
  host.hidden = still || mirroring
  words.hidden = host.hidden
  gather.hidden = true
  const solved = !host.hidden && view.kind === 'roam' && (counts.solved?.length || state.best)
  solutions(dots, solved ? counts.solved : null, solved ? state.best : null)
  if (solved) host.hidden = true
  if (!host.hidden) {
    renderStep(
      host,
      {
        ...view,
        phase: state.phase,
        bars: state.bars,
        mine: null,
        shut: state.shut,
        // where all try for themselves the wall shows the scene that they start from
        bench: view.kind === 'roam' ? view.bench : null,
        benchMode: 'mirror',
        benchSettings: null,
      },
      { mode: 'wall' },
    )
    const now = JSON.stringify([state.step, state.phase, state.bars])
    if (now !== fitKey) {
      fitKey = now
      fit()
    }
  }
}

function showPeople(view, counts, at) {
  const of = at.asks || view.kind === 'roam' || view.kind === 'talk' ? (counts.of ?? at.joined) : at.joined
  const n = at.calling
    ? (counts.here ?? at.joined)
    : at.asks
      ? (counts.answered ?? 0)
      : view.kind === 'roam' || view.kind === 'talk'
        ? (counts.done ?? 0)
        : (counts.here ?? at.joined)
  const label = at.calling ? 'here' : at.asks ? 'answered' : view.kind === 'roam' || view.kind === 'talk' ? 'done' : 'here'
  const pKey = JSON.stringify([n, of, label, state.ended])
  if (pKey !== peopleKey) {
    peopleKey = pKey
    fill(
      people,
      state.ended
        ? null
        : [
            el('p', { class: 'count' }, el('b', {}, String(n)), ` of ${of} ${label}`),
            squares(n, { filled: true, most: 100, of }),
          ],
    )
  }
}

function showWords(counts) {
  const list = counts.words ?? []
  const wKey = JSON.stringify(list)
  if (wKey !== wordsKey) {
    wordsKey = wKey
    fill(
      words,
      list.map(w => el('li', {}, w)),
    )
    words.classList.toggle('some', list.length > 0)
  }
}
