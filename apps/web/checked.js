// Finds numbers on the page of checks: every word must be there, and where it comes from must be the one that was chosen.

const form = document.querySelector('.finder'),
  field = document.getElementById('find'),
  told = document.getElementById('found')
const all = [...document.querySelectorAll('[data-kind]')],
  blocks = [...document.querySelectorAll('.block')]

// What a number can be found by: its own words, those of its part and of its source.
const said = one =>
  [one, one.closest('.block')?.querySelector('h2'), one.closest('.from')?.querySelector('.cite')]
    .map(node => node?.textContent ?? '')
    .join(' ')
    .toLowerCase() + ` ${one.dataset.kind}`
const text = new Map(all.map(one => [one, said(one)]))

function find() {
  const words = field.value.toLowerCase().split(/\s+/).filter(Boolean),
    kind = form.elements.kind.value
  const wanted = words.length > 0 || kind !== ''
  form.toggleAttribute('data-asked', wanted)
  let count = 0
  for (const one of all) {
    const fits = (!kind || one.dataset.kind === kind) && words.every(word => text.get(one).includes(word))
    one.hidden = !fits
    count += fits
  }
  for (const part of document.querySelectorAll('.from')) part.hidden = !part.querySelector('[data-kind]:not([hidden])')
  for (const block of blocks)
    block.hidden = wanted && (block.classList.contains('still') || !block.querySelector('[data-kind]:not([hidden])'))
  told.textContent = !wanted ? '' : count ? `${count} of ${all.length}` : 'Nothing has all of these words. Leave one out.'
}

field.addEventListener('input', find)
form.addEventListener('change', find)
form.addEventListener('submit', event => {
  event.preventDefault()
  find()
})
// On paper nothing can be opened.
window.addEventListener('beforeprint', () => {
  for (const one of document.querySelectorAll('details.claim')) one.open = true
})
