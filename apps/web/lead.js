// An invitation, typed or brought behind the # of a link, becomes the right to lead a room or to show its wall from this device.

import { kept, post } from './dom.js'

const form = document.getElementById('lead-form'),
  field = document.getElementById('words'),
  told = document.getElementById('lead-trouble')

async function use(words) {
  told.textContent = ''
  try {
    const { ok, data } = await post('/room/lead', { words })
    if (!ok) {
      told.textContent = data.text ?? 'That did not work. Try again.'
      field.focus()
      return
    }
    // who leads already keeps that right when a wall is opened beside it
    const key = data.role === 'control' ? `gw-room-${data.room}` : `gw-wall-${data.room}`
    kept.set(key, { token: data.token })
    location.replace(data.page)
  } catch {
    told.textContent = 'The server does not answer. Try again in a moment.'
  }
}
form.addEventListener('submit', event => {
  event.preventDefault()
  if (field.value.trim()) use(field.value)
  else {
    told.textContent = 'Type the three words and the number.'
    field.focus()
  }
})
const given = decodeURIComponent(location.hash.slice(1))
if (given) {
  history.replaceState(null, '', location.pathname)
  field.value = given.replaceAll('-', ' ')
  use(given)
} else field.focus()
