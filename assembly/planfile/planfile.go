// Package planfile writes and reads plan.json, the record of all that a build finds out, and the lists made from it:
// the cut list and the shopping list, as CSV for programs and as tables for a terminal.
//
// Write and Read are inverse to one another but for rounding: lengths are kept to a millionth of a millimetre and
// directions to 1e-12, so that the same plan gives the same bytes on every machine. In the file, null stands where
// something does not apply: a field of this program's types that is 0, "" or nil there.
//
// Read checks the form of a file (fields, types, bounds); Validate checks its sense (references, order, geometry that
// follows from the fields alone). Whether the bodies can really be moved as the steps say is for assembly/replay.
package planfile
