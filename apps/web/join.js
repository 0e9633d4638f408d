// Joining a room: the code in any spelling that can be meant, looked at before the page is left.

import { codeOf } from './codes.js'

for (const form of document.querySelectorAll('.join-form')) {
  const field = form.querySelector('input'),
    told = form.querySelector('.trouble')
  form.addEventListener('submit', event => {
    event.preventDefault()
    const found = codeOf(field.value)
    told.textContent = found.trouble ?? ''
    field.setAttribute('aria-invalid', String(Boolean(found.trouble)))
    if (found.trouble) {
      field.focus()
      return
    }
    location.href = `/room/${found.code}`
  })
  field.addEventListener('input', () => {
    if (told.textContent) {
      told.textContent = ''
      field.removeAttribute('aria-invalid')
    }
  })
}
if (!document.querySelector('.lessons, .start')) document.querySelector('.join-form input')?.focus()
