// Package logger runs rounds and keeps their record. Gauge events go in;
// captures, a view to draw and plain events come out; the captures land in a
// job folder that survives a pulled plug and opens in a spreadsheet.
//
// Corrections. A line is never changed. A new measurement of a position names
// the one it supersedes; an undo is a line of quality "rejected" that
// supersedes the capture undone and brings back what that one had superseded.
// record.Active applies both.
package logger
