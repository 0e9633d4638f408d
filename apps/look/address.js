// Keeps the scene in the address, and in the links to the other pages.

export function render({ model }) {
  let wait
  const write = () => {
    const url = new URL(location.href)
    url.searchParams.set('s', model.s)
    history.replaceState(null, '', url)
    for (const link of document.querySelectorAll('nav a, a[data-language]')) {
      const to = new URL(link.href)
      to.searchParams.set('s', model.s)
      link.href = to
    }
  }
  model.on('s', () => { clearTimeout(wait); wait = setTimeout(write, 250) })
  if (model.at_once && model.s) write()
  return document.createElement('span')
}
