/** Builds the dashboard into dist/dashboard, where the daemon serves it from. */

import { defineConfig, type Plugin } from 'vite';

/**
 * The validator can compile its checks with `new Function`, which the page's security policy
 * forbids; taking that path out at build time also leaves its code out of the bundle.
 */
function withoutEval(): Plugin {
  const probe = 'const jit = !core.globalConfig.jitless;';
  return {
    name: 'without-eval',
    apply: 'build',
    transform(code, id) {
      if (!id.endsWith('/zod/v4/core/schemas.js')) {
        return null;
      }
      if (!code.includes(probe)) {
        throw new Error('The validator has changed: look again at how it decides to use eval.');
      }
      return { code: code.replace(probe, 'const jit = false;'), map: null };
    },
  };
}

/** Blank runs inside HTML templates carry nothing on this page; they are a tenth of its size. */
function withoutTemplateBlanks(): Plugin {
  return {
    name: 'without-template-blanks',
    apply: 'build',
    transform(code, id) {
      if (!id.includes('/dashboard/') || !id.endsWith('.ts')) {
        return null;
      }
      return { code: code.replace(/\n\s+/g, '\n '), map: null };
    },
  };
}

const frame =
  /node_modules\/(lit|@lit)|dashboard\/(access|access-line|alarm-banner|alarm-order|alarm\/attention|api|connection|element|format|interrupted-runs|live-element|off-bar|route|rings|rings-picture|run-track|runs|sensors|shell|staleness|tank-face|theme|words|words-access|words-interrupted)\.ts$/;

export default defineConfig({
  root: import.meta.dirname,
  plugins: [withoutEval(), withoutTemplateBlanks()],
  build: {
    outDir: '../dist/dashboard',
    emptyOutDir: true,
    target: 'es2022',
    modulePreload: false,
    reportCompressedSize: true,
    rolldownOptions: {
      output: {
        codeSplitting: {
          // What every page needs is one file: small ones each compress by themselves, and worse.
          groups: [{ name: 'frame', test: frame }],
        },
      },
    },
  },
});
