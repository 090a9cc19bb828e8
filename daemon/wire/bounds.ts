/** Bounds that a form shows and a schema enforces; apart from the schemas, so that a page need not load them. */

/** Most characters of the note with which a run is ended. */
export const longestNote = 500;

/** Longest name that a person gives at sign-in; with role and address it fits into an event. */
export const maxNameCharacters = 24;
