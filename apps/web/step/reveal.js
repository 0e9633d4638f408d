// What the model gives, beside what a person said, and what is to be said of that.

import { answerWords, feedback, rightWords } from '../answers.js'
import { el, safe } from '../dom.js'

export function reveal(node, view, mode) {
  const { question, answer, mine } = view
  const own = mine?.[2] ?? mine?.[1] ?? null
  const person = mode === 'learner' || mode === 'alone'
  node.append(el('h3', { class: 'part-head' }, 'What the model gives'))
  const right = rightWords(question, answer.right)
  if (person) {
    const said = own ? answerWords(question, own.answer) : ''
    const sure = own?.sure ?? null
    node.append(
      el(
        'dl',
        { class: 'beside' },
        el(
          'div',
          {},
          el('dt', {}, 'You said'),
          el(
            'dd',
            {},
            said || 'nothing this time',
            sure !== null && said ? el('span', { class: 'note' }, ` (${['a guess', 'fairly sure', 'very sure'][sure]})`) : null,
          ),
        ),
        el(
          'div',
          { class: 'right-one' },
          el('dt', {}, 'The model gives'),
          el('dd', {}, el('b', {}, right), ' ', el('span', { class: 'tick', 'aria-hidden': 'true' }, '\u2713')),
        ),
      ),
    )
    if (view.lines?.because) node.append(el('p', { class: 'own' }, `Your reason: ${view.lines.because}`))
    if (view.lines?.seen) node.append(el('p', { class: 'own' }, `You saw: ${view.lines.seen}`))
    for (const about of feedback(question, answer, own?.answer))
      node.append(
        el(
          'div',
          { class: 'belief' },
          about.words ? el('p', {}, about.words) : null,
          about.belief ? el('p', {}, `Behind it is often this idea: ${about.belief}`) : null,
          about.html ? safe(about.html, { class: 'md' }) : null,
        ),
      )
  } else if (mode === 'control' || !question.choices?.length || question.kind === 'order')
    node.append(
      el(
        'p',
        { class: `right-one in-${question.kind}` },
        el('b', {}, right),
        ' ',
        el('span', { class: 'tick', 'aria-hidden': 'true' }, '\u2713'),
      ),
    )
  if (answer.html) node.append(safe(answer.html, { class: 'md reason' }))
  // the wall keeps to what is read from afar: this stands on everybody's own page
  if (answer.arms && mode !== 'wall')
    node.append(el('p', { class: 'note' }, `The same answer in ${answer.arms} other invented arms.`))
}
