// Plots that come after the page was painted take its theme and text size.

export function render() {
  requestAnimationFrame(() => window.gwLook?.paint(true))
  return document.createElement('span')
}
