/** Where the compiled store is, as a URL that a child process can import from. */

export const builtStore = new URL('../../dist/daemon/store/', import.meta.url);
