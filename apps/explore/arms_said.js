// Read aloud: that other arms are worked out, and what they say first; what a slider then makes of it is not.

import { element } from '../web/element.js'

export function render({ model }) {
  const told = element('p', 'vh')
  told.setAttribute('role', 'status')
  const say = () => {
    told.textContent = model.told
  }
  model.on('told', say)
  // a part that comes with its words is not read
  setTimeout(say, 100)
  return told
}
