// What stands after the last step: what was said beside what the model gives, and what the lesson rests on.

import { answerWords, feedback, isRight, rightWords } from '../answers.js'
import { button, el, inline, kept, plain } from '../dom.js'
import { toLessons } from './bar.js'
import { list } from './intro.js'
import { inside, lesson, note, of, told } from './told.js'

const sureWords = sure => (sure == null ? '' : ` (${['a guess', 'fairly sure', 'very sure'][sure]})`)

// The twelve questions: before a course they tell no answer; after it, both times stand beside each other.
const rightOnes = (steps, all) =>
  all.filter((data, i) => data.answer && isRight(data.question, steps?.[i]?.answer, data.answer.right)).length
function beforeWords() {
  kept.set(
    'gw-quiz-before',
    lesson.steps.filter((_, i) => of(i).answer).length ? { right: rightOnes(told.steps, lesson.steps) } : null,
  )
  return el(
    'div',
    { class: 'column summary' },
    el('h2', { class: 'big', tabindex: '-1' }, 'Thank you'),
    el(
      'p',
      { class: 'lead' },
      `You answered ${lesson.steps.filter((_, i) => of(i).answer).length} of ${lesson.steps.length}. ` +
        'The answers come with the second twelve, after the course.',
    ),
    el('div', { class: 'row' }, toLessons('btn strong')),
  )
}
function afterWords() {
  const first = kept.get('gw-quiz-before'),
    now = rightOnes(told.steps, lesson.steps),
    n = lesson.steps.length
  return el(
    'p',
    { class: 'lead' },
    first ? `As the model: ${first.right} of ${n} before, ${now} of ${n} now.` : `As the model: ${now} of ${n}.`,
  )
}

export function summary({ page, go, restart }) {
  if (lesson.quiz === 'before') return beforeWords()
  const asked = lesson.steps
    .map((data, i) => ({ data, i, mine: of(i) }))
    .filter(({ data, i, mine }) => data.question && data.kind === 'ask' && (inside(i + 1) || mine.answer))
  const written = lesson.steps.map((data, i) => ({ data, mine: of(i) })).filter(({ mine }) => mine.words?.text?.trim())
  const own = el('textarea', { id: 'own', rows: '3', maxlength: '400' })
  own.value = told.own
  own.addEventListener('input', () => note({ own: own.value }))

  const glossary = Object.entries(lesson.glossary ?? {})
  return el(
    'div',
    { class: 'column summary' },
    el('p', { class: 'over' }, lesson.title),
    el('h2', { class: 'big', tabindex: '-1' }, 'What you said, and what the model gives'),
    lesson.quiz === 'after' ? afterWords() : null,
    el('p', { class: 'lead' }, 'Where the two differ there is most to learn: look at that step again.'),
    el(
      'ol',
      { class: 'summary-list' },
      asked.map(row => summaryRow(row, go)),
    ),
    asked.length
      ? el('p', { class: 'note' }, 'Ideas behind a guess are recalled from teaching. How common they are has not been measured.')
      : null,
    written.length
      ? [
          el('h3', {}, 'What you wrote'),
          el(
            'ul',
            { class: 'md' },
            written.map(({ data, mine }) =>
              el('li', {}, el('b', {}, data.title.endsWith('?') ? `${data.title} ` : `${data.title}: `), mine.words.text),
            ),
          ),
        ]
      : null,
    el(
      'div',
      { class: 'own-words' },
      el('label', { for: 'own' }, 'In one sentence of your own: what will you tell somebody?'),
      own,
      el('p', { class: 'note' }, 'Kept in this browser only.'),
    ),
    lesson.objectives?.length ? [el('h3', {}, 'Can you now'), list(lesson.objectives)] : null,
    lesson.limits?.length ? [el('h3', {}, 'Where the model ends'), list(lesson.limits)] : null,
    glossary.length
      ? el(
          'details',
          { open: !page.clientWidth || page.clientWidth > 699 },
          el('summary', {}, 'Words of this lesson'),
          el(
            'dl',
            { class: 'glossary' },
            glossary.map(([term, text]) => el('div', {}, el('dt', {}, term), el('dd', {}, text))),
          ),
        )
      : null,
    lesson.basis?.length
      ? el(
          'details',
          {},
          el('summary', {}, 'What this rests on'),
          el(
            'ul',
            { class: 'md basis' },
            lesson.basis.map(b => el('li', {}, inline(b.html), el('span', { class: 'mark-word' }, ` ${b.mark}`))),
          ),
        )
      : null,
    lesson.cautions?.length ? el('section', { class: 'care' }, el('h3', {}, 'Take care'), list(lesson.cautions)) : null,
    el('div', { class: 'row' }, button('Start again', restart), toLessons()),
  )
}

function summaryRow({ data, i, mine }, go) {
  const last = mine.second ?? mine,
    was = isRight(data.question, last.answer, data.answer?.right)
  const first = mine.second ? `first ${answerWords(data.question, mine.answer)}, then ` : ''
  const said = answerWords(data.question, last.answer)
  const beliefs =
    last.answer && data.answer
      ? feedback(data.question, data.answer, last.answer)
          .map(c => c.belief)
          .filter(Boolean)
      : []
  return el(
    'li',
    {},
    el(
      'p',
      {},
      el('b', {}, plain(data.question.html)),
      ' ',
      el(
        'button',
        { type: 'button', class: 'link', onclick: () => go(i + 1), 'aria-label': `Look at step ${i + 1} again` },
        'look again',
      ),
    ),
    el('p', {}, said ? `You said ${first}${said}${sureWords(last.sure)}.` : 'You made no guess.'),
    el(
      'p',
      { class: 'right-one' },
      `The model gives: ${rightWords(data.question, data.answer?.right)}`,
      was ? [' ', el('span', { class: 'tick' }, '\u2713 as you said')] : null,
    ),
    mine.lines?.because ? el('p', { class: 'note' }, `Your reason: ${mine.lines.because}`) : null,
    beliefs.map(b => el('p', { class: 'belief-line' }, `Behind your guess is often this idea: ${b}`)),
  )
}
