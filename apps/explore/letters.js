// The height of a letter of 1 rem on the plots (see theme.js), and how large the plots that have a name came out.

import { element } from '../web/element.js'

export function render({ model }) {
  const watched = new WeakSet()
  let due = 0,
    last = ''
  const figures = () => (window.Bokeh?.documents ?? []).flatMap(d => [...d.all_models]).filter(m => m.type === 'Figure' && m.name)
  const tell = () => {
    due = 0
    const rem = window.gwLook?.letter() ?? 0
    if (!(rem >= 6 && rem <= 120)) return
    const plots = {}
    for (const m of figures()) {
      if (!watched.has(m)) {
        watched.add(m)
        for (const side of ['inner_width', 'inner_height']) m.properties[side].change.connect(soon)
      }
      if (m.inner_width > 0 && m.inner_height > 0) plots[m.name] = [Math.round(m.inner_width), Math.round(m.inner_height)]
    }
    const said = JSON.stringify([rem, plots])
    if (said === last) return
    last = said
    if (Math.abs(rem - model.rem_px) > 0.05) model.rem_px = rem
    model.plots = plots
  }
  function soon() {
    clearTimeout(due)
    due = setTimeout(tell, 60)
  }
  const docs = new WeakSet()
  const follow = () => {
    for (const d of window.Bokeh?.documents ?? [])
      if (!docs.has(d)) {
        docs.add(d)
        let many = 0
        // a plot may come with one message that only says what is new in a column: then there are more models than before
        d.on_change(event => {
          const now = d._all_models?.size ?? 0
          if (event.kind !== 'ModelChanged' || now !== many) soon()
          many = now
        })
      }
    soon()
  }
  window.addEventListener('gw-look', soon)
  window.addEventListener('resize', soon)
  model.on('remove', () => {
    window.removeEventListener('gw-look', soon)
    window.removeEventListener('resize', soon)
  })
  requestAnimationFrame(follow)
  return element('span')
}
