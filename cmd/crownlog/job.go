package main

type jobCmd struct {
	New      jobNewCmd      `cmd:"" help:"Open a new job folder with a commented job.toml."`
	Show     jobShowCmd     `cmd:"" help:"Show where a job stands and what comes next."`
	Check    jobCheckCmd    `cmd:"" help:"Check job.toml for mistakes and misprints."`
	Tick     jobTickCmd     `cmd:"" help:"Tick what was seen to, off the lists before the strip and before closing up."`
	Aim      jobAimCmd      `cmd:"" help:"Decide what a used set found beyond its window is set to."`
	Move     jobMoveCmd     `cmd:"" help:"Record an adjuster move."`
	Note     jobNoteCmd     `cmd:"" help:"Record a note: sealant, oil batch, anything."`
	Attach   jobAttachCmd   `cmd:"" help:"Copy a photo or document into the job, with its hash."`
	Override jobOverrideCmd `cmd:"" aliases:"skip" help:"Skip a hold point, with the reason that stays on record."`
	Mend     jobMendCmd     `cmd:"" help:"Show what is sound in a damaged captures.csv, and go on with it."`
	Undo     jobUndoCmd     `cmd:"" help:"Take back one line of the record; both stay in it."`
}
