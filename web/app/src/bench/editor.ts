// CodeMirror, set up for a definition: YAML, the mistakes the server found at
// their places, and the fields' names offered within expressions.
import { autocompletion, closeBrackets, completionKeymap, type Completion, type CompletionContext } from '@codemirror/autocomplete';
import { defaultKeymap, history, historyKeymap } from '@codemirror/commands';
import { yaml } from '@codemirror/lang-yaml';
import { bracketMatching, HighlightStyle, indentOnInput, syntaxHighlighting } from '@codemirror/language';
import { lintGutter, lintKeymap, setDiagnostics, type Diagnostic } from '@codemirror/lint';
import { EditorState } from '@codemirror/state';
import { drawSelection, EditorView, highlightActiveLine, keymap, lineNumbers } from '@codemirror/view';
import { tags } from '@lezer/highlight';
import type { FieldDoc, Problem } from './types';

export interface Handle { put(text: string): void; mark(problems: Problem[]): void; close(): void }

const colours = HighlightStyle.define([
  { tag: [tags.propertyName, tags.definition(tags.propertyName)], color: 'var(--accent)', fontWeight: '600' },
  { tag: tags.comment, color: 'var(--soft)', fontStyle: 'italic' },
  { tag: [tags.string, tags.content], color: 'var(--ink)' },
  { tag: [tags.number, tags.bool, tags.null, tags.keyword], color: 'var(--held)' }
]);

const look = EditorView.theme({
  '&': { color: 'var(--ink)', backgroundColor: 'var(--raised)', fontSize: '14px', height: '420px' },
  '.cm-scroller': { fontFamily: "ui-monospace, 'Liberation Mono', monospace", lineHeight: '1.45', overflow: 'auto' },
  '.cm-content': { caretColor: 'var(--ink)' },
  '.cm-cursor': { borderLeftColor: 'var(--ink)' },
  '.cm-gutters': { backgroundColor: 'var(--panel)', color: 'var(--soft)', border: 'none' },
  '.cm-activeLine, .cm-activeLineGutter': { backgroundColor: 'color-mix(in srgb, var(--accent) 9%, transparent)' },
  '&.cm-focused .cm-selectionBackground, .cm-selectionBackground': { backgroundColor: 'color-mix(in srgb, var(--accent) 28%, transparent) !important' },
  '.cm-tooltip': { backgroundColor: 'var(--panel)', color: 'var(--ink)', border: '1px solid var(--line)' },
  '.cm-tooltip-autocomplete ul li[aria-selected]': { backgroundColor: 'var(--accent)', color: 'var(--on-accent)' },
  '.cm-diagnostic-error': { borderLeftColor: 'var(--broken)' }
});

export function makeEditor(host: HTMLElement, text: string, typed: (t: string) => void, fields: () => FieldDoc[]): Handle {
  const root = host.shadowRoot ?? host.attachShadow({ mode: 'open' });
  root.replaceChildren();
  let putting = false;
  const view = new EditorView({
    root,
    parent: root,
    state: EditorState.create({
      doc: text,
      extensions: [
        lineNumbers(), history(), drawSelection(), indentOnInput(), bracketMatching(), closeBrackets(), highlightActiveLine(), lintGutter(), EditorView.lineWrapping,
        yaml(), syntaxHighlighting(colours), look,
        autocompletion({ override: [(c) => offer(c, fields())] }),
        keymap.of([...completionKeymap, ...lintKeymap, ...historyKeymap, ...defaultKeymap]),
        EditorView.contentAttributes.of({ 'aria-label': 'definition, YAML', tabindex: '0' }),
        EditorView.updateListener.of((u) => { if (u.docChanged && !putting) typed(u.state.doc.toString()); })
      ]
    })
  });
  return {
    put(t) {
      if (t === view.state.doc.toString()) return;
      putting = true;
      view.dispatch({ changes: { from: 0, to: view.state.doc.length, insert: t } });
      putting = false;
    },
    mark(problems) {
      const doc = view.state.doc;
      const list: Diagnostic[] = problems.map((p) => {
        const line = doc.line(Math.min(Math.max(1, p.line), doc.lines));
        const from = Math.min(line.from + Math.max(0, p.column - 1), line.to);
        const word = /^[\w.-]+/.exec(line.text.slice(from - line.from))?.[0].length ?? 1;
        return { from, to: Math.min(from + word, line.to), severity: 'error', message: p.text };
      });
      view.dispatch(setDiagnostics(view.state, list));
    },
    close: () => view.destroy()
  };
}

// offer lists fields behind a root's dot, and a field's words behind quotes.
function offer(c: CompletionContext, fields: FieldDoc[]): { from: number; options: Completion[] } | null {
  const word = c.matchBefore(/[a-z_]+(\.[a-z_]*)?/);
  const quoted = c.matchBefore(/([a-z_]+\.[a-z_]+) *[!=]= *["'][a-z0-9-]*/);
  if (quoted) {
    const name = /^[a-z_.]+/.exec(quoted.text)![0];
    const f = fields.find((x) => x.name === name);
    const from = quoted.from + quoted.text.search(/["'][a-z0-9-]*$/) + 1;
    return f?.words ? { from, options: f.words.map((w) => ({ label: w, type: 'constant' })) } : null;
  }
  if (!word || (!c.explicit && !word.text.includes('.'))) return null;
  return { from: word.from, options: fields.map((f) => ({ label: f.name, detail: f.type, info: f.gloss, type: 'property' })) };
}
