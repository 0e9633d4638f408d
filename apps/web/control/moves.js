// Under what the room sees: whether a talk is worth it, and all that moves the room.

import { button, el, say } from '../dom.js'
import { back, go, line, nextWords, onward, state } from './leading.js'
import { toggleMirror } from './own_bench.js'

// Worth a talk between these shares of right answers (common practice, no source).
const FEW = 0.3,
  MANY = 0.7

export const share = () => state.counts?.first_right ?? null
export const wordsOn = () => state.words === true

// Said while they vote, before the wall says "talk": whether a talk is worth it, and the way past it.
export function adviceParts() {
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

export function moveParts() {
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
