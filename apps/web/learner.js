// What a phone shows in a room: the step, the question, and words that say whether an answer is kept.

import { answerWords, isRight, rightWords } from './answers.js'
import { connect } from './connect.js'
import { askBench, button, code, el, exploreLink, fill, inline, kept, named, plain, previewed, say, sendable } from './dom.js'
import { mirrored } from './mirror.js'
import { paid } from './proof.js'
import { renderStep } from './step.js'
import { explain } from './trade.js'
import { unclearButton } from './unclear.js'

const room = code(),
  ME = `gw-me-${room}`,
  RECORD = `gw-mine-${room}`
const app = document.getElementById('app')
const banner = el('p', { class: 'banner', role: 'status', hidden: true })
const notice = el('div', { class: 'notice', hidden: true })
const late = el('p', { class: 'late-note', hidden: true })
const host = el('div', {})
const scene = el('div', { class: 'mirror-host', hidden: true })
const foot = el('div', { class: 'room-foot' })
const extra = el('div', { class: 'extra' }),
  sendPlace = el('div', { class: 'send-place room-send' })
const page = el('div', { class: 'learner-page', tabindex: '0', role: 'group', 'aria-label': 'What the room is at' })

// What this phone knows: answers by step and round, and what was revealed, for the summary.
let record = kept.get(RECORD) ?? { steps: {} }
let line = null,
  state = null,
  lesson = null,
  open = false,
  sending = null,
  refusedWords = '',
  lastPlace = '',
  noticeKey = 'null'

const mineOf = step => record.steps[step]?.mine ?? {}
function note(step, change) {
  record = { ...record, steps: { ...record.steps, [step]: { ...record.steps[step], ...change } } }
  kept.set(RECORD, record)
}

async function start() {
  if (previewed) {
    welcomeIn({ handle: '', token: '' })
    return
  }
  const me = kept.get(ME)
  if (me?.token) {
    welcomeIn(me)
    return
  }
  let reply
  try {
    reply = await paid(`/room/${room}/join`, {})
  } catch {
    trouble('The server does not answer.', 'Check the network, then try again.', true)
    return
  }
  if (!reply.ok || !reply.data.token) {
    const words =
      reply.data.text ??
      (reply.status === 404
        ? 'No room has this code.'
        : reply.status === 429
          ? 'Too many tries from here.'
          : 'This room cannot be joined.')
    trouble(
      words,
      reply.status === 404 ? 'Look at the wall again: two words and a number.' : '',
      reply.status !== 404 && reply.status !== 410,
      true,
    )
    return
  }
  kept.set(ME, reply.data)
  welcomeIn(reply.data)
}

function trouble(head, words, again, other = false) {
  fill(
    app,
    el(
      'div',
      { class: 'column narrow' },
      el('h2', { class: 'big' }, head),
      words ? el('p', { class: 'lead' }, words) : null,
      el(
        'div',
        { class: 'row' },
        again
          ? button(
              'Try again',
              () => {
                fill(app, el('p', { class: 'waiting' }, 'Looking for the room.'))
                start()
              },
              { class: 'btn strong' },
            )
          : null,
        other ? el('a', { class: 'btn', href: '/join' }, 'Type another code') : null,
      ),
    ),
  )
  say(head)
}

function welcomeIn(me) {
  handle(me.handle)
  fill(page, notice, late, scene, host, extra)
  fill(
    foot,
    sendPlace,
    unclearButton(text => Boolean(state) && line.send({ type: 'unclear', step: state.step, text })),
  )
  fill(app, banner, page, foot)
  line = connect({ code: room, role: 'learner', token: me.token, on: { message, status, kept: isKept, refused, closed } })
}

const handle = name => {
  if (name) fill(document.getElementById('handle'), `you are ${named(name)}`)
}

function message(m) {
  if (m.type === 'welcome') {
    lesson = m.lesson
    explain(lesson?.glossary)
    handle(m.handle)
    if (m.state) {
      known(m.state.step, m.mine)
      take(m.state)
    }
  } else if (m.type === 'state') take(m)
  else if (m.type === 'counts') {
    const { type, version, ...counts } = m
    if (state) state = { ...state, counts }
  } else if (m.type === 'mine') {
    known(m.step, m)
    if (state?.step === m.step) show()
  } else if (m.type === 'trouble') {
    if (!state) trouble(m.text, '', true, true)
    else {
      refusedWords = m.text
      show()
    }
  }
}

// What the server keeps of this phone; what waits here to be sent is newer than that.
function known(step, there) {
  const mine = { ...mineOf(step) }
  for (const round of [1, 2]) {
    if (line?.unsent(step, round)) continue
    if (there?.[round]) mine[round] = there[round]
    else delete mine[round]
  }
  note(step, { mine, done: Boolean(there?.done) })
}

function status(now) {
  open = now === 'open'
  banner.hidden = now !== 'lost' && !(now === 'opening' && state && !open && !banner.hidden)
  if (now === 'lost') {
    if (!banner.textContent) {
      fill(
        banner,
        'No connection. Trying again; your answer waits here. ',
        button('Try now', () => line.retry()),
      )
      say('No connection. Trying again.')
    }
  } else if (open) {
    if (banner.textContent) say('Connected again.')
    fill(banner)
    banner.hidden = true
  }
  if (state) show()
}

function closed(event) {
  // The server knows this token no more, or the room: join anew, once.
  kept.drop(ME)
  trouble(event.reason || 'This room is closed.', '', true, true)
}

function isKept(m) {
  if (m.step === undefined) return
  sending = null
  refusedWords = ''
  note(m.step, { kept: { ...(record.steps[m.step]?.kept ?? {}), [m.round]: true } })
  if (state?.step === m.step) show()
}

function refused(m, known) {
  if (known && !m.again) {
    const mine = { ...mineOf(known.step) }
    delete mine[known.round]
    note(known.step, { mine })
  }
  sending = null
  refusedWords = m.text
  say(m.text)
  show()
}

function send(answer, sure) {
  const round = state.phase === 'again' ? 2 : 1,
    step = state.step
  note(step, {
    mine: { ...mineOf(step), [round]: { answer, sure } },
    kept: { ...(record.steps[step]?.kept ?? {}), [round]: false },
  })
  refusedWords = ''
  sending = line.answer(step, round, answer, sure) ? { step, round } : null
  show()
}

function sentWords(step, round) {
  if (refusedWords) return { state: 'refused', words: refusedWords }
  if (!mineOf(step)[round]) return null
  if (line.unsent(step, round))
    return open && sending
      ? { state: 'sending', words: 'Sending.' }
      : { state: 'waiting', words: 'Not sent yet. It is sent by itself when the connection is back.' }
  return { state: 'kept', words: 'Kept. You can change it until it is shown.' }
}

function take(next) {
  const moved = !state || state.step !== next.step || state.phase !== next.phase
  const before = state
  state = next
  if (moved) {
    refusedWords = ''
    sending = null
  }
  const { view } = next
  if (view?.answer && view.question) {
    const mine = mineOf(next.step)
    note(next.step, {
      title: view.title,
      asks: plain(view.question.html),
      first: answerWords(view.question, mine[1]?.answer),
      second: answerWords(view.question, mine[2]?.answer),
      right: rightWords(view.question, view.answer.right),
      beliefs: beliefs(view, mine[2] ?? mine[1]),
      was: isRight(view.question, (mine[2] ?? mine[1])?.answer, view.answer.right),
    })
  }
  show()
  const place = `${next.step} ${next.phase} ${next.paused} ${next.ended} ${next.gathering} ${Boolean(next.mirror)}`
  if (place !== lastPlace && before) {
    const words = {
      vote: 'A question: make your guess.',
      talk: 'Talk with the person next to you.',
      again: 'Guess again.',
      bars: 'What the room said.',
      look: 'Look at the picture.',
      reveal: 'What the model gives.',
    }
    say(
      next.ended
        ? 'The room has ended.'
        : next.gathering
          ? 'You are in.'
          : next.mirror
            ? 'The scene of the person who teaches.'
            : next.paused
              ? 'Pause.'
              : before.paused
                ? 'The room goes on.'
                : (words[next.phase] ?? `Step ${view.number}: ${view.title}`),
    )
    if (moved) {
      page.scrollTo({ top: 0 })
      // The focus stays in the page when the form under it is gone.
      if (document.activeElement === document.body) host.querySelector('h2')?.focus({ preventScroll: true })
    }
  }
  lastPlace = place
}

// What often stands behind a choice that the model does not give.
function beliefs(view, own) {
  const keys = [own?.answer?.choice ?? own?.answer?.choices ?? []].flat()
  return keys
    .map(k => view.answer.choices?.[k])
    .filter(c => c && !c.right && c.belief)
    .map(c => c.belief)
}

function show() {
  if (!state || !host.isConnected) return
  if (state.ended) {
    summary()
    return
  }
  const step = state.step,
    view = state.view,
    round = state.phase === 'again' ? 2 : 1
  // What the educator shows takes over; what was chosen stays in the form beneath.
  const still = Boolean(state.paused || state.gathering)
  const mirroring = mirrored(scene, still ? null : state.mirror)
  host.hidden = sendPlace.hidden = still || mirroring
  late.hidden = !refusedWords || state.phase === 'vote' || state.phase === 'again'
  late.textContent = late.hidden ? '' : refusedWords
  notice.hidden = !still && !mirroring
  const told = state.gathering
    ? ['You are in', 'The lesson begins when all are here. You can leave this page open.']
    : state.paused
      ? ['Pause', 'Look up from the phone. The room goes on in a moment.']
      : mirroring
        ? ['The scene of the person who teaches', 'Watch what moves.']
        : null
  if (JSON.stringify(told) !== noticeKey) {
    noticeKey = JSON.stringify(told)
    fill(notice, told ? [el('h2', { class: 'big' }, told[0]), el('p', { class: 'lead' }, told[1])] : null)
    if (mirroring) page.scrollTo({ top: 0 })
  }
  notice.classList.toggle('slim', mirroring)
  extra.hidden = still || mirroring
  renderStep(
    host,
    {
      ...view,
      phase: state.phase,
      bars: state.bars,
      mine: mineOf(step),
      sent: sentWords(step, round),
      shut: state.shut,
      benchMode: 'roam',
      benchWords: view.bench ? 'Yours to try: move one thing at a time.' : '',
      benchLink: view.bench ? exploreLink(view.bench) : null,
    },
    {
      mode: 'learner',
      bar: sendPlace,
      answer: send,
      solved: settings => solved(step, settings),
      bench: settings => askBench({ slug: lesson?.slug, step, settings, code: room, token: kept.get(ME)?.token }),
    },
  )
  more(view, step)
}

// All goals are met: what met them goes to the wall as a dot, without a name; the server works it out again.
function solved(step, settings) {
  if (state?.step === step) line.send({ type: 'solved', step, settings: sendable(settings) })
}

// Under the step: a sentence of one's own, and a sign of being done.
let moreKey = ''
function more(view, step) {
  const wordsOn = state.words === true
  const done = Boolean(record.steps[step]?.done)
  const showDone = view.kind === 'talk' || view.kind === 'roam'
  const key = JSON.stringify([step, wordsOn, showDone, done])
  if (key === moreKey) return
  moreKey = key
  fill(extra)
  if (wordsOn) {
    const field = el('textarea', { id: 'words', rows: '2', maxlength: '200' }),
      told = el('p', { class: 'send-state', 'aria-live': 'polite' })
    extra.append(
      el(
        'form',
        {
          class: 'words-form',
          onsubmit: event => {
            event.preventDefault()
            const text = field.value.trim()
            if (!text) {
              told.textContent = 'Write a few words first.'
              field.focus()
              return
            }
            const sent = line.send({ type: 'words', step, text })
            if (sent) field.value = ''
            told.textContent = sent
              ? 'Sent. It is shown only if the person who teaches picks it.'
              : 'No connection. Try again in a moment.'
          },
        },
        el('label', { for: 'words' }, 'In your own words'),
        field,
        el('button', { class: 'btn' }, 'Send my words'),
        told,
      ),
    )
  }
  if (step === 0 && lesson?.cautions?.length) {
    extra.append(
      el(
        'section',
        { class: 'care' },
        el('h3', {}, 'Take care'),
        el(
          'ul',
          { class: 'md' },
          lesson.cautions.map(html => el('li', {}, inline(html))),
        ),
      ),
    )
  }
  if (showDone) {
    extra.append(
      el(
        'div',
        { class: 'row' },
        done
          ? el('p', { class: 'own' }, 'You said that you are done.')
          : button('I am done', () => {
              if (line.send({ type: 'done', step })) {
                note(step, { done: true })
                show()
                say('You said that you are done.')
              }
            }),
      ),
    )
  }
}

function summary() {
  if (app.dataset.ended) return
  app.dataset.ended = 'yes'
  line.close()
  const rows = Object.entries(record.steps)
    .filter(([, s]) => s.right)
    .sort(([a], [b]) => a - b)
  const words = el('textarea', { id: 'own', rows: '3', maxlength: '400' })
  words.value = record.own ?? ''
  words.addEventListener('input', () => {
    record = { ...record, own: words.value }
    kept.set(RECORD, record)
  })
  const list = items =>
      el(
        'ul',
        { class: 'md' },
        items.map(html => el('li', {}, inline(html))),
      ),
    terms = Object.entries(lesson?.glossary ?? {})
  const row = s =>
    el(
      'li',
      {},
      el('p', {}, el('b', {}, s.asks)),
      el('p', {}, `You said ${s.first || 'nothing'}${s.second && s.second !== s.first ? `, then ${s.second}` : ''}.`),
      el(
        'p',
        { class: 'right-one' },
        `The model gives: ${s.right}`,
        s.was ? [' ', el('span', { class: 'tick' }, '\u2713 as you said')] : null,
      ),
      (s.beliefs ?? []).map(b => el('p', { class: 'belief-line' }, `Behind your answer is often this idea: ${b}`)),
    )
  fill(foot)
  fill(
    page,
    el(
      'div',
      { class: 'column narrow summary' },
      el('h2', { class: 'big', tabindex: '-1' }, 'The room has ended. Thank you.'),
      el('p', { class: 'lead' }, lesson?.title ?? ''),
      rows.length
        ? el(
            'ol',
            { class: 'summary-list' },
            rows.map(([, s]) => row(s)),
          )
        : el('p', {}, 'No answer was shown while you were here.'),
      lesson?.objectives?.length ? [el('h3', {}, 'Can you now'), list(lesson.objectives)] : null,
      el('label', { for: 'own' }, 'In one sentence: what will you remember?'),
      words,
      el('p', { class: 'note' }, 'This page is yours: your words and this list stay in this browser, nobody else sees them.'),
      terms.length
        ? el(
            'details',
            {},
            el('summary', {}, 'Words of this lesson'),
            el(
              'dl',
              { class: 'glossary' },
              terms.map(([term, text]) => el('div', {}, el('dt', {}, term), el('dd', {}, text))),
            ),
          )
        : null,
      lesson?.cautions?.length ? el('section', { class: 'care' }, el('h3', {}, 'Take care'), list(lesson.cautions)) : null,
      el(
        'div',
        { class: 'row' },
        lesson ? el('a', { class: 'btn', href: `/teach/${lesson.slug}` }, 'Take the lesson again, alone') : null,
        el('a', { class: 'btn', href: '/explore' }, 'Explore'),
      ),
    ),
  )
  say('The room has ended.')
}

start()
