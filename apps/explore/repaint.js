// Plots that come after the page was painted take its theme and text size.

import { element } from '../web/element.js'

export function render() {
  requestAnimationFrame(() => window.gwLook?.paint(true))
  return element('span')
}
