// Finding by name, as it is typed.

/** Return whether a text in lower case has every word that was typed, in any order; null when none was. */
export function called(typed) {
  const words = typed.trim().toLowerCase().split(/\s+/).filter(Boolean);
  return words.length ? (text) => words.every((word) => text.includes(word)) : null;
}
