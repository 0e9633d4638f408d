// Small pieces that several parts of a lesson taken alone show.

import { el, inline } from '../dom.js'
import { HOME } from '../supply.js'

// A file by itself leads nowhere.
export const toLessons = (look = 'btn') => (HOME ? el('a', { class: look, href: HOME }, 'To the lessons') : null)

export const list = items =>
  el(
    'ul',
    { class: 'md' },
    items.map(html => el('li', {}, inline(html))),
  )
