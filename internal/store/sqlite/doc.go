// Package sqlite keeps everything in one SQLite database, firlot.db, in a
// folder of its own. It is the store for one household on one machine.
//
// What it promises, numbered as its tests are:
//
//  1. What a method acknowledged is on disk before it returns: write-ahead
//     log, synchronous FULL, and on macOS F_FULLFSYNC. A killed program loses
//     nothing of it; a power cut only if the disk lies about flushing.
//  2. A change is kept whole or not at all.
//  3. Of two changes that start from the same Rev, one is kept; the other gets
//     store.ErrConflict.
//  4. One program at a time has the database; a second gets store.ErrLocked.
//     The lock is the operating system's and ends with the program, however
//     that ends.
//  5. A damaged database, a newer one and one that is not Firlot's are refused
//     at the start and not written to.
//  6. A full disk or one that cannot be written gives an error that says so,
//     and what was kept stays.
//  7. An event of a making is kept once for its key, however often and from
//     wherever it is sent, together with what it does to the shelf. After a kill
//     the making stands in the state that was acknowledged last, or with the one
//     event more that each device had under way.
//
// Writing goes through one connection, one change after another; readers have
// four of their own and see the last whole change, without waiting.
package sqlite
