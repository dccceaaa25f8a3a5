// What the editor says. Sentences stand in these files in English, whole and marked; Python hands over their translation, if any.
// `tests/make_catalogues.py` collects what is marked.

let WORDS = {};

/** words: {English: translation, or for a sentence with a number [for one, for many]}; empty in English. */
function useWords(words) {
  WORDS = words ?? {};
}

/** Mark a sentence that is translated later, where it is shown. */
function N_(sentence) {
  return sentence;
}

function _(sentence, fields = {}) {
  return filled(WORDS[sentence] ?? sentence, fields);
}

/** The same for a sentence that depends on a number; its place is {n}. */
function _n(one, many, n, fields = {}) {
  const forms = WORDS[one] ?? [one, many];
  return filled(forms[n === 1 ? 0 : 1], { n, ...fields });
}

function filled(sentence, fields) {
  return sentence.replace(/\{(\w+)\}/g, (place, name) => String(fields[name] ?? place));
}

/** labels: {selector: sentence} of the parts of a skeleton that have a name but no words. */
function sayLabels(root, labels) {
  for (const [selector, sentence] of Object.entries(labels)) root.querySelector(selector).setAttribute("aria-label", _(sentence));
}
