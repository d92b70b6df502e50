import { createRequire } from 'node:module';

/** One output in several forms, by MIME type; a front end shows the richest form it knows. */
export type MimeBundle = Readonly<Record<string, unknown>>;

/** A running notebook kernel: takes outputs, and can replace one that was sent under the same id. */
export interface Kernel {
  write(bundle: MimeBundle, replacing?: { readonly id: string; readonly update: boolean }): void;
}

type WriteDisplayData = (content: { data: object; metadata: object; transient: object }, update: boolean) => void;

interface PublicDisplay {
  raw(mime: string, value: unknown): void;
}

/** In the order in which a front end that takes only one form is served best. */
const SINGLE_FORMS = ['image/svg+xml', 'text/html', 'text/markdown', 'text/plain'];

/**
 * The TypeScript kernel this process runs in, or `undefined` outside of one. All that is known about
 * the kernel stands in this file: it announces itself by the global `__tslab__`; its own module writes
 * a message with several forms; where that is missing, its public `display` writes one form.
 */
export function runningKernel(): Kernel | undefined {
  const kernel = (globalThis as { __tslab__?: { require?: (name: string) => unknown } }).__tslab__;
  if (kernel === undefined) return undefined;
  const { cache } = createRequire(import.meta.url);
  const path = Object.keys(cache).find((name) => /[\\/]tslab[\\/]dist[\\/]jupyter\.js$/.test(name));
  const loaded = path === undefined ? undefined : (cache[path]?.exports as { lastWriteDisplayData?: unknown });
  if (loaded !== undefined && typeof loaded.lastWriteDisplayData === 'function') {
    return {
      write(bundle, replacing) {
        // Looked up at every message: the kernel sets it anew for every cell.
        const write = loaded.lastWriteDisplayData as WriteDisplayData;
        const transient = replacing === undefined ? {} : { display_id: replacing.id };
        write({ data: bundle, metadata: {}, transient }, replacing?.update ?? false);
      },
    };
  }
  const display = (kernel.require?.('tslab') as { display?: PublicDisplay } | undefined)?.display;
  if (display === undefined) return undefined;
  return {
    write(bundle, replacing) {
      if (replacing?.update === true) return;
      const form = SINGLE_FORMS.find((mime) => bundle[mime] !== undefined);
      if (form !== undefined) display.raw(form, bundle[form]);
    },
  };
}
