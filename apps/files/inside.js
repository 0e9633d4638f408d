// Modules that stand in the file itself, each after those that it imports. Each gets an address of its own, and the names by which
// they import one another lead to those addresses.
const addresses = {}
let last = ''
for (const node of document.querySelectorAll('script[data-module]')) {
  last = node.dataset.module
  const near = `file:///${last}`
  const text = node.textContent.replace(
    /^((?:import|export)\b[^;'"]*?\bfrom |import )'(\.[^']+)'/gm,
    (_, head, name) => `${head}'${addresses[new URL(name, near).pathname.slice(1)]}'`,
  )
  addresses[last] = URL.createObjectURL(new Blob([text], { type: 'text/javascript' }))
}
await import(addresses[last])
