// "I do not understand": always there on a phone, unasked; words are welcome and not needed.

import { button, el, say } from './dom.js'

// `send(text)` gives whether it went.
export function unclearButton(send) {
  const told = el('span', { class: 'unclear-told', role: 'status' })
  const open = button('I do not understand', ask, { class: 'link unclear', 'aria-haspopup': 'dialog' })

  function ask() {
    const field = el('textarea', { id: 'unclear-words', rows: '3', maxlength: '200' }),
      trouble = el('p', { class: 'trouble', role: 'alert' })
    const close = () => {
      d.close()
      d.remove()
      open.focus()
    }
    const d = el(
      'dialog',
      { 'aria-labelledby': 'unclear-head' },
      el('h2', { class: 'big', id: 'unclear-head' }, 'I do not understand'),
      el('p', {}, 'Only the person who teaches sees it, without your name.'),
      el(
        'form',
        {
          class: 'words-form',
          onsubmit: event => {
            event.preventDefault()
            if (!send(field.value.trim())) {
              trouble.textContent = 'No connection. Try again in a moment.'
              return
            }
            close()
            told.textContent = '\u2713 Told'
            say('Told to the person who teaches.')
            setTimeout(() => {
              told.textContent = ''
            }, 6000)
          },
        },
        el('label', { for: 'unclear-words' }, 'What? (you need not say)'),
        field,
        trouble,
        el('div', { class: 'row' }, el('button', { class: 'btn strong' }, 'Tell'), button('Not now', close)),
      ),
    )
    d.addEventListener('cancel', event => {
      event.preventDefault()
      close()
    })
    document.body.append(d)
    d.showModal()
  }
  return el('div', { class: 'unclear-row' }, told, open)
}
