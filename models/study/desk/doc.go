// Package desk answers: at the desk in the reading room, which reading is next,
// and is the one just taken sound?
//
// A [Session] holds the readings of one day: the rows of a sheet in their order,
// and the table that readings go to. Each reading is on disk before the next is
// asked for. Nothing is replaced: a reading taken back stays in the table with the
// reason, further placings are marked as extra and count like all others, and no
// alarm asks to repeat a placing until two agree, since readings chosen for their
// agreement look more repeatable than they are.
//
// A [Coding] holds the looks at traces of one observer on one day, in the same way.
package desk
