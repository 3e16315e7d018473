/* What does the page know? The shapes of all that it holds, for the type checker alone; nothing here runs. */

/** A point in the page's plane: metres to the right and metres up. @typedef {[number, number]} Point */
/** @typedef {{type: string, coordinates: any}} Geometry */
/** @typedef {Record<string, any>} Properties */
/** @typedef {{type: "Feature", id: string, kind?: string | null, properties: Properties, geometry: Geometry}} Feature */
/** @typedef {{where?: string, file?: string, feature?: string, text: string}} Fault */
/** @typedef {{code: string, feature?: string, text: string}} Caution */
/** @typedef {{given: any, default: any, says: string}} Setting */
/** @typedef {{latitude: number, longitude: number, bearing: number}} Place */
/** @typedef {{url: string, width: number, height: number, corners: Point[] | null, strength: number, under_map?: boolean, said?: string}} Backdrop */

/**
 * How the properties of its things are read.
 * @typedef {object} Reading
 * @property {number} plain  metres in a number without a unit
 * @property {Record<string, string>} renaming  keys of the file, and ours for them
 * @property {number | null} north  the bearing of the top of the paper, in degrees; null while it is not known
 */

/**
 * The property as the server tells it.
 * @typedef {object} Property
 * @property {string} version
 * @property {string} name
 * @property {string} [folder]
 * @property {"imperial" | "metric"} units
 * @property {string} unit  of the drawing, by its sign
 * @property {number} unit_metres  how long it is
 * @property {Place | null} place
 * @property {Record<string, Setting>} settings
 * @property {Feature[]} features
 * @property {boolean} sound
 * @property {Fault[]} faults
 * @property {Caution[]} cautions
 * @property {string | null} undo
 * @property {string | null} redo
 * @property {Backdrop | null} backdrop
 * @property {Record<string, string>} [renaming]  keys of the file, and ours for them
 * @property {{what: string, says: string}[]} [missing]  what has not been said yet
 * @property {string | null} [proposals]  changes with the file of proposals; null where there is none
 * @property {any[]} variants
 * @property {string | null} variant
 */

/** @typedef {{type: string, dimension?: string | null, least?: any, above?: any, most?: any, choices?: string[], spread?: boolean}} Rule */
/** @typedef {{name: string, says: string, rule: Rule, default: any, source?: string | null, required?: boolean, required_of?: string[], instead?: string[], advice?: string}} Key */
/** @typedef {{kind: string, word: string, geometry: string[], keys: Key[]}} Kind */

/** @typedef {"corners" | "box" | "three" | "circle" | "point"} Way */
/**
 * What is being drawn: its kind, the corners set so far, and what was typed of the next one.
 * @typedef {object} Drawing
 * @property {string} kind
 * @property {Way} way
 * @property {Point[]} points
 * @property {number | null} direction  degrees clockwise from up, held for the next corner
 */

/** Where the pointer or the cursor takes hold. @typedef {{point: Point, words: string, guides: [Point, Point][]}} Hold */

/** What a survey shows of one thing. @typedef {Feature & {drawn: boolean, points: number | null, trees: number | null, waits: boolean, wrong: string, said: string[]}} Proposal */

/**
 * What is changed under the hand, before it is sent.
 * @typedef {object} Draft
 * @property {Feature[]} put
 * @property {string} says
 */

/** A step that waits for the server. @typedef {{path: string, says: string, body: Record<string, any>}} Step */

/**
 * The state of the page; changed through `change` alone.
 * @typedef {object} State
 * @property {Property | null} property
 * @property {Kind[]} kinds
 * @property {string} tool  "select", or the kind that is drawn
 * @property {Way} way
 * @property {string[]} selection
 * @property {number | null} side  the chosen side of the one thing that is chosen
 * @property {number | null} corner  the chosen corner of it
 * @property {Drawing | null} drawing
 * @property {Draft | null} draft
 * @property {[Point, Point] | null} box  the frame that chooses several
 * @property {Point} cursor
 * @property {Hold | null} hold
 * @property {boolean} snaps
 * @property {boolean} byKeys  whether the cursor is led by keys
 * @property {Point[]} tapes  the spots that two tapes may mean
 * @property {Step[]} waiting
 * @property {"saved" | "saving" | "away" | "conflict"} saving
 * @property {Property | null} theirs
 * @property {{says: string, faults: Fault[]} | null} refused
 * @property {Record<string, Record<string, any>>} usual  what was last given to each kind
 * @property {string} said
 * @property {any} bed  figures of the bed under the hand
 * @property {{on: boolean, month: number, picture: any}} sun
 * @property {any} job
 * @property {any} table
 * @property {{on: boolean, open: string | null, list: Proposal[], more: number, faults: Fault[]}} proposed  what a survey proposes; the one that is open in the list
 * @property {any} pinning  points set on the backdrop so far
 */

export {};
