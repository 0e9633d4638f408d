// Addresses by which phones join: the one that was chosen is shown, and another can be chosen where there are several.

export function ways(line) {
  const box = document.querySelector('.ways'),
    all = [...document.querySelectorAll('.way')]
  const pick = box?.querySelector('[data-id=way]')
  let shown = ''
  pick?.addEventListener('change', () => {
    show(pick.value)
    line()?.send({ type: 'address', host: pick.value })
  })

  function show(host) {
    const now = all.find(way => way.dataset.host === host) ?? all[0]
    if (!now || now.dataset.host === shown) return
    shown = now.dataset.host
    for (const way of all) way.hidden = way !== now
    if (pick) pick.value = shown
  }
  return { show, any: all.length > 0 }
}
