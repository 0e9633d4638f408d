// A room's code as people type it: "Plum River 42", "plum-river-42", "PLUMRIVER42" with a space somewhere; kept as plum-river-42.

export function codeOf(text) {
  const parts = text
    .normalize('NFKC')
    .replace(/([a-z])([A-Z])/g, '$1 $2')
    .toLowerCase()
    .replace(/([a-z])(\d)/g, '$1 $2')
    .split(/[^a-z0-9]+/)
    .filter(Boolean)
  if (!parts.length) return { trouble: 'Type the code from the wall: two words and a number, such as \u201cplum river 42\u201d.' }
  const words = parts.filter(part => /^[a-z]+$/.test(part)),
    numbers = parts.filter(part => /^\d+$/.test(part))
  if (numbers.length > 1) numbers.splice(0, numbers.length, numbers.join(''))
  if (words.length !== 2 || numbers.length !== 1) {
    const has = `${words.length} ${words.length === 1 ? 'word' : 'words'} and ${numbers.length ? 'a number' : 'no number'}`
    return { trouble: `A code has two words and a number; this has ${has}. Look at the wall again.` }
  }
  return { code: `${words[0]}-${words[1]}-${numbers[0]}` }
}
