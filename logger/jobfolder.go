package logger

import "slices"

// A JobFolder is a job open for writing: its folder, and its sheet as it was
// when the folder was opened.
type JobFolder struct {
	*Folder
	sheet Sheet
}

// Sheet is the job sheet as it was when the folder was opened.
func (f *JobFolder) Sheet() Sheet { return f.sheet }

// CreateJob makes dir a job folder with the given job sheet and opens it. dir
// may exist when it is empty.
func CreateJob(dir string, sheetTOML []byte) (*JobFolder, error) {
	if _, err := parseSheet(sheetFile, sheetTOML); err != nil {
		return nil, err
	}
	if err := CreateFolder(dir, sheetTOML); err != nil {
		return nil, err
	}
	return OpenJob(dir)
}

// OpenJob opens an existing job for writing. It fails as LoadSheet and
// OpenFolder do; the sheet is read first, so that a job of a newer crownlog is
// left alone.
func OpenJob(dir string) (*JobFolder, error) {
	var s Sheet
	folder, err := OpenFolder(dir, into(&s))
	if err != nil {
		return nil, err
	}
	return &JobFolder{folder, s}, nil
}

// A JobSnapshot is a job as a reader sees it at one moment.
type JobSnapshot struct {
	*Snapshot
	Sheet Sheet
}

// ReadJob reads a job without its lock and changes nothing in it, so it may be
// called while a writer runs. It fails as OpenJob does.
func ReadJob(dir string) (*JobSnapshot, error) {
	var s Sheet
	snap, err := ReadFolder(dir, into(&s))
	if err != nil {
		return nil, err
	}
	return &JobSnapshot{snap, s}, nil
}

// ExamineJob reads the captures.csv of a job line by line: see Examine. It fails
// as LoadSheet does, too.
func ExamineJob(dir string) (Mending, error) { return mended(dir, Examine) }

// SetJobAside keeps a damaged captures.csv under another name and puts one in its
// place that goes on with the sound lines: see SetAside. It fails as LoadSheet
// does, too.
func SetJobAside(dir string) (Mending, error) { return mended(dir, SetAside) }

func mended(dir string, mend func(dir, stage string) (Mending, error)) (Mending, error) {
	var s Sheet
	if err := CheckSheetFile(dir, into(&s)); err != nil {
		return Mending{}, err
	}
	return mend(dir, stageOfMoves(s))
}

// into makes the check of a sheet file that leaves the sheet in s.
func into(s *Sheet) func(path string) error {
	return func(path string) (err error) {
		*s, err = LoadSheet(path)
		return err
	}
}

// stageOfMoves is the first stage in which adjusters may be moved: what is as
// found is not.
func stageOfMoves(sheet Sheet) string {
	stages := sheet.StageList()
	if i := slices.IndexFunc(stages, func(s string) bool { return s != StageAsFound }); i >= 0 {
		return stages[i]
	}
	return stages[0]
}
