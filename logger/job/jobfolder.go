package job

import (
	"slices"

	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A Folder is a job open for writing: its folder, and its sheet as it was
// when the folder was opened.
type Folder struct {
	*journal.Folder
	sheet sheet.Sheet
}

// Sheet is the job sheet as it was when the folder was opened.
func (f *Folder) Sheet() sheet.Sheet { return f.sheet }

// Create makes dir a job folder with the given job sheet and opens it. dir
// may exist when it is empty.
func Create(dir string, sheetTOML []byte) (*Folder, error) {
	if _, err := sheet.Parse(journal.SheetFile, sheetTOML); err != nil {
		return nil, err
	}
	if err := journal.Create(dir, sheetTOML); err != nil {
		return nil, err
	}
	return Open(dir)
}

// Open opens an existing job for writing. It fails as LoadSheet and
// OpenFolder do; the sheet is read first, so that a job of a newer crownlog is
// left alone.
func Open(dir string) (*Folder, error) {
	var s sheet.Sheet
	folder, err := journal.Open(dir, into(&s))
	if err != nil {
		return nil, err
	}
	folder.Sign(s.Vehicle.Operator)
	return &Folder{folder, s}, nil
}

// A Snapshot is a job as a reader sees it at one moment.
type Snapshot struct {
	*journal.Snapshot
	Sheet sheet.Sheet
}

// Read reads a job without its lock and changes nothing in it, so it may be
// called while a writer runs. It fails as OpenJob does.
func Read(dir string) (*Snapshot, error) {
	var s sheet.Sheet
	snap, err := journal.Read(dir, into(&s))
	if err != nil {
		return nil, err
	}
	return &Snapshot{snap, s}, nil
}

// ExamineJob reads the captures.csv of a job line by line: see Examine. It fails
// as LoadSheet does, too.
func ExamineJob(dir string) (journal.Repair, error) { return repaired(dir, journal.Examine) }

// SetJobAside keeps a damaged captures.csv under another name and puts one in its
// place that goes on with the sound lines: see SetAside. It fails as LoadSheet
// does, too.
func SetJobAside(dir string) (journal.Repair, error) { return repaired(dir, journal.SetAside) }

func repaired(dir string, repair func(dir, stage string) (journal.Repair, error)) (journal.Repair, error) {
	var s sheet.Sheet
	if err := journal.CheckSheetFile(dir, into(&s)); err != nil {
		return journal.Repair{}, err
	}
	return repair(dir, stageOfMoves(s))
}

// into makes the check of a sheet file that leaves the sheet in s.
func into(s *sheet.Sheet) func(path string) error {
	return func(path string) (err error) {
		*s, err = sheet.Load(path)
		return err
	}
}

// stageOfMoves is the stage in which the backlash is set, or else the first that
// is not as found.
func stageOfMoves(s sheet.Sheet) string {
	stages := s.StageList()
	if slices.Contains(stages, record.StageSetUp) {
		return record.StageSetUp
	}
	if i := slices.IndexFunc(stages, func(s string) bool { return s != record.StageAsFound }); i >= 0 {
		return stages[i]
	}
	return stages[0]
}
