// A button over every label of a plot that has a meaning; what it means is said at the plot's foot until it is put away.

import { element } from '../web/element.js'

const tagged = m => (m.tags ?? []).map(t => (t instanceof Map ? t.get('meaning') : t?.meaning)).find(Boolean)

function labelViews() {
  const found = [],
    seen = new Set()
  const visit = v => {
    if (seen.has(v)) return
    seen.add(v)
    if (v.model?.type === 'Label' && tagged(v.model)) found.push(v)
    for (const child of [...(v.child_views ?? []), ...(v.renderer_views?.values?.() ?? [])]) visit(child)
  }
  for (const root of window.Bokeh?.index.roots ?? []) visit(root)
  return found
}

function place(layer, button, view) {
  const rect = view._rect,
    plot = view.parent?.el ?? null
  button.hidden = !view.model.visible || !rect || !plot?.clientWidth
  if (button.hidden) return
  const at = plot.getBoundingClientRect(),
    from = layer.getBoundingClientRect()
  Object.assign(button.style, {
    left: `${at.left - from.left + rect.sx - rect.anchor.x * rect.width}px`,
    top: `${at.top - from.top + rect.sy - rect.anchor.y * rect.height}px`,
    width: `${rect.width}px`,
    height: `${rect.height}px`,
  })
  button.setAttribute('aria-label', String(view.model.text).replace('\n', ' '))
}

export function render({ model }) {
  const layer = element('div'),
    note = element('p', 'note')
  note.setAttribute('role', 'status')
  note.hidden = true
  layer.className = 'layer'
  layer.append(note)
  const buttons = new Map()
  let due = 0
  const put = () => {
    for (const view of labelViews()) {
      if (!buttons.has(view.model.id)) {
        const button = element('button')
        button.type = 'button'
        button.addEventListener('click', () => {
          note.hidden = !note.hidden
          note.textContent = tagged(view.model)
        })
        buttons.set(view.model.id, button)
        layer.append(button)
      }
      place(layer, buttons.get(view.model.id), view)
    }
  }
  const soon = () => {
    clearTimeout(due)
    due = setTimeout(() => requestAnimationFrame(put), 150)
  }
  layer.addEventListener('keydown', event => {
    if (event.key === 'Escape') note.hidden = true
  })
  const docs = window.Bokeh?.documents ?? []
  for (const d of docs) d.on_change(soon)
  const sizer = new ResizeObserver(soon)
  sizer.observe(layer)
  window.addEventListener('gw-look', soon)
  model.on('remove', () => {
    sizer.disconnect()
    window.removeEventListener('gw-look', soon)
  })
  soon()
  return layer
}
