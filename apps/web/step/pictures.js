// The pictures of a step: each is fetched once, drawn when it is there, and asked for again where it did not come.

import { keepAxes } from '../answers.js'
import { el, fill } from '../dom.js'
import { drawPicture } from '../draw.js'

const known = new Map()

export function fetched(picture) {
  if (Object.keys(picture).some(key => !['id', 'kind', 'title', 'text', 'url'].includes(key))) {
    keepAxes(picture)
    return Promise.resolve(picture)
  }
  if (!known.has(picture.id)) {
    known.set(
      picture.id,
      fetch(picture.url ?? `/picture/${picture.id}.json`)
        .then(response => {
          if (!response.ok) throw new Error(String(response.status))
          return response.json()
        })
        .then(data => {
          keepAxes(data)
          return data
        })
        .catch(error => {
          known.delete(picture.id)
          throw error
        }),
    )
  }
  return known.get(picture.id)
}

export function pictures(node, list, { large = false, small = false, guess = null } = {}) {
  const drawn = []
  const grid = el('div', { class: `pictures n${Math.min(list.length, 3)}` })
  node.append(grid)
  for (const picture of list) {
    const host = el('div', { class: `picture kind-${picture.kind}` })
    grid.append(host)
    const draw = () => {
      fill(host, el('p', { class: 'waiting' }, 'The picture is being fetched.'))
      fetched(picture)
        .then(data => {
          if (!host.isConnected) return
          fill(host)
          drawn.push(drawPicture(host, data, { small, fill: large, guess }))
          window.dispatchEvent(new Event('gwt-drawn'))
        })
        .catch(() => {
          fill(
            host,
            el('p', { class: 'md' }, picture.text || picture.title || ''),
            el('p', { class: 'note' }, 'The picture did not come. '),
            el('button', { type: 'button', class: 'btn', onclick: draw }, 'Fetch it again'),
          )
        })
    }
    draw()
  }
  return drawn
}
