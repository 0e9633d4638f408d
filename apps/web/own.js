// Words of one's own: a line beside a question, and a text that a step asks for, judged by what it must hold and how hard it reads.

import { el, fill, safe, say } from './dom.js'
import { judged } from './judge.js'

// One line for oneself; `kept` is what was written before.
export function ownLine(node, { id, label, kept, put }) {
  const field = el('input', { type: 'text', id, maxlength: '200', autocomplete: 'off', value: kept ?? '' })
  field.addEventListener('input', () => put(field.value))
  node.append(el('div', { class: 'own-line' }, el('label', { for: id }, label), field))
}

// The field of a step, its answer from the formula, and afterwards an answer that passes.
export function ownText(node, own, { id, kept, put }) {
  const field = el('textarea', { id, rows: '3', maxlength: '600' }),
    told = el('div', { class: 'own-told', 'aria-live': 'polite' })
  field.value = kept?.text ?? ''
  const judging = own.needs?.length || own.grade !== null
  const show = seen => {
    const found = judged(field.value, own)
    fill(
      told,
      judging
        ? el(
            'ul',
            { class: 'md' },
            found.told.map(line => el('li', {}, line)),
          )
        : null,
      judging && found.passes
        ? el('p', {}, '\u2713 It says what it must. A formula cannot judge sense or kindness: read it aloud.')
        : null,
      own.passes ? safe(own.passes, { class: 'md own-passes' }) : null,
    )
    put({ text: field.value, seen: true, passes: judging ? found.passes : null })
    if (!seen) say(found.told.join(' '))
  }
  field.addEventListener('input', () => put({ ...kept, text: field.value, seen: false }))
  const check = el(
    'button',
    { type: 'button', class: 'btn', onclick: () => show(false) },
    judging ? 'Check my words' : own.passes ? 'Compare' : 'Keep my words',
  )
  node.append(
    el(
      'div',
      { class: 'own-words' },
      el('label', { for: id }, own.write),
      field,
      el('div', { class: 'row' }, check, el('span', { class: 'note' }, 'Kept in this browser only.')),
      told,
    ),
  )
  if (kept?.seen) show(true)
}
