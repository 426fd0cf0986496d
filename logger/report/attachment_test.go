package report

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// TestAttachmentsAreToldOf in words, with a finding for each that is not what
// was attached.
func TestAttachmentsAreToldOf(t *testing.T) {
	note := func(id int, name string) record.Capture {
		return record.Capture{ID: id, Time: time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC), Stage: record.StageFinal, Feature: record.FeatureNote,
			Attachment: record.Attachment{Path: "attachments/" + name, SHA256: strings.Repeat("ab", 32)}, Note: "drive flank"}
	}
	cs := []record.Capture{note(1, "0001-a.jpg"), note(2, "0002-b.jpg")}
	d := Build(sheet.Sheet{}, cs, time.Time{})
	assert.Equal(t, "Attached attachments/0001-a.jpg (SHA-256 abababababab…): drive flank", d.Remarks[0].Text)
	before := len(d.Findings)
	d.AddAttachments([]record.CheckedAttachment{{Attachment: cs[0].Attachment}, {Attachment: cs[1].Attachment, Problem: "is missing"}})
	require.Len(t, d.Findings, before+1)
	assert.Equal(t, "the attached file is missing", d.Findings[before].Text)
	page := written(t, HTML, d)
	assert.Contains(t, page, "attachments/0002-b.jpg: the attached file is missing.")
	assert.Contains(t, page, "when they were attached: 1 of 2.")
}
