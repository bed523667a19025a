import { svelte } from '@sveltejs/vite-plugin-svelte';
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { defineConfig } from 'vitest/config';
import type { Plugin } from 'vite';

// offline writes the service worker with the list of built files, under a
// version that follows from their names (which hold hashes of the contents).
function offline(): Plugin {
  return {
    name: 'offline',
    apply: 'build',
    generateBundle(_, bundle) {
      const files = Object.keys(bundle).filter((f) => f.startsWith('assets/')).sort();
      const page = createHash('sha256').update(files.join('\n')).digest('hex').slice(0, 12);
      const text = readFileSync(new URL('./src/worker.js', import.meta.url), 'utf8')
        .replace('__VERSION__', page)
        .replace('__FILES__', JSON.stringify(files.map((f) => `/${f}`)));
      this.emitFile({ type: 'asset', fileName: 'sw.js', source: text });
    }
  };
}

export default defineConfig({
  plugins: [svelte(), offline()],
  build: { target: 'es2022', modulePreload: { polyfill: false }, assetsInlineLimit: 0 },
  server: { proxy: { '/api': 'http://127.0.0.1:8080', '/ws': { target: 'ws://127.0.0.1:8080', ws: true } } },
  test: { include: ['src/**/*.test.ts'], setupFiles: [] }
});
