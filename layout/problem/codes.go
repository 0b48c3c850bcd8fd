package problem

import (
	"slices"
	"strings"
)

// Code is a kind of problem in a user's file or a file's place, for the manual.
type Code struct {
	ID   string
	Text string // a paragraph: what it means and what to do
}

// Codes lists every kind of problem in job, machine and material files, lengths,
// surveys, and files and folders, sorted by id. What a dry run finds in a program
// has its own list, in post/dryrun.
func Codes() []Code {
	list := slices.Concat(fileCodes(), jobCodes(), lengthCodes(), machineCodes(), surveyCodes())
	slices.SortFunc(list, func(a, b Code) int { return strings.Compare(a.ID, b.ID) })
	return list
}

// fileCodes are about files and folders as such.
func fileCodes() []Code {
	return []Code{
		{"F001", "A file cannot be read: it is not there, is a folder, or you have no permission. Names count from the folder you are in."},
		{"F002", "A file is longer than one MiB. Job, machine and material files are a few kilobytes, so it is probably the wrong file."},
		{"F003", "A file is not text in UTF-8. Save it as UTF-8; on old systems that is a choice in the editor's save window."},
		{"F004", "A character in the file cannot be seen: a control character, or one that turns the direction of text or has no width. Such characters come along with copied text and can make a file mean something else than it shows. Retype the line by hand."},
		{"F005", "A file has more lines, longer lines, more values or deeper nesting than any job needs. The message says which limit."},
		{"F006", "A file is not YAML. The usual reasons: a line set in by another number of blanks than its neighbours, a tab, a bracket or quote that is not closed, or text with a colon and a blank in it that is not between quotes."},
		{"F007", "A file is empty or holds comments only. \"spotjig new FILE\" writes one to start from."},
		{"F008", "A line \"---\" begins a second document in the file. Keep one job, machine or material in a file: a second one would be passed over silently."},
		{"F009", "A key stands twice in one section. Only one of the values could be meant, so neither is used; remove one."},
		{"F010", "The output folder is a link. A link is never replaced; name the folder it points to."},
		{"F011", "The output folder's name belongs to a file."},
		{"F012", "The folder that the output folder would stand in does not exist. Create it first."},
		{"F013", "The output folder cannot be written: the disk is full, permissions are missing, or the place cannot be reached. Nothing was changed unless the message says so."},
		{"F014", "The output folder holds files that no earlier run of spotjig wrote there, or no SHA256SUMS that lists what it holds. It is replaced as a whole, so they would be lost; choose another folder or move them."},
		{"F015", "A file in the output folder was edited after it was written. Keep a copy, then use --force to replace it."},
		{"F016", "Another run is writing the output folder at this moment."},
		{"F017", "The output folder is, holds or lies in one of the files that were read."},
		{"F018", "The output folder is the one you are in."},
		{"F019", "The output folder is marked read-only."},
		{"F020", "Something a run left beside the output folder cannot be cleared away. The message says what it is and what to do with it."},
		{"F021", "A file does not begin with keys: it is one word, or a list. Write one \"key: value\" a line."},
		{"F022", "Anchors (&), aliases (*), tags (!) and merge keys (<<) are not read: a job never needs them, and with them a small file can grow large or mean something else than it shows."},
		{"F023", "A machine or material file that a job names cannot be read. Its name counts from the folder of the job file."},
		{"F025", "A file cannot be written: its folder is not there, is not writable, or the disk is full."},
		{"F024", "\"spotjig new\" never overwrites: the file exists already. Choose another name, or remove the file yourself."},
		{"F026", "A form changes values that stand on one line behind their key. This one stands otherwise, as several lines or with braces: change it in the text of the job file."},
		{"F027", "The page is compiled from the source: run \"spotjig page\" inside a checkout, with Go installed. A release carries the page ready made."},
		{"F030", "The folder to verify cannot be read, or there is none of that name."},
		{"F031", "The job.yaml of a folder is missing or does not say what the folder was made with. A folder is checked by making it again from that file; make the folder again."},
		{"F032", "A file that the folder's job makes is missing. Make the folder again."},
		{"F033", "A file of a folder is not, byte for byte, what the folder's own job makes. The message shows the first line that differs, and what it should say. Do not run a program that was edited; make the folder again."},
		{"F034", "A folder holds something that its job does not make. No run of spotjig wrote it; move it elsewhere."},
		{"F035", "A folder was made by another version of spotjig, which may write other bytes for the same job; an edit can look the same. Check it with that version, or make it again from its job.yaml."},
		{"F036", "A folder is missing because a run was cut off, by a power failure for instance. The message says where its whole old set is. The next run mends it."},
	}
}

// jobCodes are about keys and values of a job file, and of machine and material
// files alike.
func jobCodes() []Code {
	return []Code{
		{"J001", "A key is not known in its section. The message names the nearest known one; \"spotjig explain\" tells about each."},
		{"J002", "One value stands where several keys are wanted, or the other way round."},
		{"J003", "A value that has no default is missing."},
		{"J004", "A text is too long, or holds characters that cannot be printed or a line end. Texts are lettered on pieces and stand in programs, drawings and tables, so they are kept to printable characters on one line."},
		{"J005", "A value is not a plain number: digits, with a sign and a decimal point where needed. Exponents, other number bases, NaN and infinity are not read."},
		{"J006", "A number is outside its limits."},
		{"J007", "A whole number is wanted, without a decimal point."},
		{"J008", "A value is not one of those known for its key. All of them are listed."},
		{"J009", "A date is not a day of the calendar written as year, month and day, like 2026-11-20."},
		{"J010", "Yes or no is wanted; true and false do as well."},
		{"J011", "A list is too long or too short."},
		{"J012", "No games are chosen, a game is not known, or one is named twice. \"spotjig list games\" shows them."},
		{"J013", "The size given is one that names a table or its slate, not a playing surface: 108 x 54 in is a 9 ft table whose playing surface is 100 x 50 in. Marks computed from it would all be wrong. Measure from cushion nose to cushion nose. If the playing surface really is so, write measured: nose-to-nose."},
		{"J014", "The size is a nominal size that is also a real playing surface (84 x 42, 72 x 36 in). A warning only: make sure it was measured between cushion noses, then write measured: nose-to-nose."},
		{"J015", "Length and width do not belong to one table: the length is not the longer side, or not about twice the width."},
		{"J016", "Both a length or width and a survey are given; keep one."},
		{"J017", "The table's size is a name without a published playing surface and nothing was measured; or, as a warning, what was measured is far from the published surface of that name."},
		{"J018", "The marker's guide, its thickness at plate height, is thinner than the line it draws."},
		{"J019", "A warning: the table was not measured, and the published surface of its size is used. Tables differ; measure before cutting anything."},
		{"J090", "No jig can be built from this job on this machine: a piece would not fit the bed, or a limit of the design would be broken. The message says which."},
		{"J091", "The pieces do not fit the sheets."},
		{"J092", "No cutting path can be made: a cut has no room for the kerf or the blade. The message names the piece."},
		{"J093", "The cutting path cannot be written as a program for this machine."},
		{"J094", "No test piece can be made for this machine: a shop cuts with its own, a blade has no kerf, the sheet is too thin for the kerf, or bed and sheet are too small. The message says which."},
		{"J095", "Ties are asked for on a machine that cuts none: a blade's sheet is stuck to its mat, and a shop gets drawings at nominal size and holds the pieces in its own way."},
		{"J096", "A warning: a choice asks for something that no game of the job has, such as anchors in balkline-35, which marks none, or two baulk lines where snooker is not played. Nothing is marked for it."},
		{"J097", "The sheet is too thin to stand upright as a fin, or for the shoes of jig.settings, which want 4 mm and more and a nose that is not too low for the sheet. Fins are made of sheet of 2 mm and more; film and card go on a knife, which sets them to blocks or folds boxes of them."},
		{"J098", "Drawings with the kerf taken (dxf: compensated) need a kerf: it is how far outlines are drawn outside, and openings inside, of the finished edge. A shop that cuts on the line tells it; one that takes its own kerf wants dxf: nominal, and would take it twice."},
		{"J099", "A check of the finished job failed, so nothing was written."},
	}
}

// lengthCodes are about written lengths.
func lengthCodes() []Code {
	return []Code{
		{"L001", "A value is not a length. Lengths may be written 2540, 2540 mm, 254 cm, 2.54 m, 100 in, 100\", 8 ft 4 in, 8' 4\", 46 1/2 in or 46-1/2\"; a bare number is in mm."},
		{"L002", "A unit is not known. Known are mm, cm, m, in (or \") and ft (or '). In YAML a length with quotes in it is best put between quotes of the other kind."},
		{"L003", "A length is not finite: NaN and infinity are no lengths."},
		{"L004", "A length is written with an exponent. Write the number out."},
		{"L005", "A length has a comma in it. Decimal comma and thousands separator cannot be told apart; use a decimal point and no separator."},
		{"L006", "A fraction is not one a tape has: it has no unit, is of a metric unit, stands after a decimal point, is 1 or more after a whole number, or is not in parts of 2 to 128."},
		{"L007", "Parts of a length do not go together: only inches below 12 may follow, and only after whole feet."},
		{"L008", "A length is more than 100 m. The unit is probably wrong."},
		{"L009", "A length is outside the limits of its key. The unit is probably wrong: a bare number is in mm."},
	}
}

// machineCodes are about machines and materials.
func machineCodes() []Code {
	return []Code{
		{"M001", "A machine or material name is not built in. A name ending in .yaml is taken for a file."},
		{"M003", "A speed has no unit, an unknown one, or is out of all measure. Write 20 mm/s or 1200 mm/min: both are in use and sixty times apart, so a bare number is refused."},
		{"M005", "A machine has no travel, or its margin leaves nothing of it."},
		{"M006", "A lower limit is not well below its upper limit."},
		{"M007", "A word in power_on, extra_words or refused_words is not a mode or function word such as G21 or M8."},
		{"M008", "A controller is not built in. Controllers are named by what they do; a trait of one's own goes under dialect."},
		{"M009", "A keep-out zone has no inside, or the park place is outside the travel."},
		{"M010", "A kerf is 0 on a laser, below 0.01 mm or above 1 mm. Kerfs of laser cutters run from 0.08 to 0.45 mm; cut a test piece and measure it at the exit face."},
		{"M011", "A sheet's thickness is 0 or out of all measure. Measure it with a caliper at four places."},
		{"M012", "A kind of material is not known. Nothing is cut that cannot be named: some plastics give off poison under a beam, and several look like acrylic."},
		{"M013", "A power is above the machine's full scale or the material's cap."},
		{"M014", "A feed is faster than the machine's feed_max."},
		{"M015", "A blade's settings stand on a machine without one, or its heights are in the wrong order: up is above the sheet's face, skin just below it, floor lowest. With skin 0 it could turn at full depth only, which swivel_angle 180 has to allow."},
		{"M016", "A blade's depth is below the machine's floor, or is 0. Depths count from the sheet's upper face and are negative."},
		{"M017", "A router is for the dry run of anybody's programs only: jigs are cut with a beam or a blade. Order a shop's drawings with process: shop."},
		{"M018", "An entry of acts_on is no byte. Bytes are written 0x21, ranges 0x80-0xFF; none says that no byte acts."},
		{"M019", "A program cannot be written in the way that the machine's program section asks for, on a controller as it is described: the message names both. The manual of the controller decides."},
		{"M020", "The material must not be cut with a laser. The message says why: poisonous or corrosive fume, or fire. Use cast acrylic; film and thin sheet go on a knife."},
		{"M021", "The beam's wavelength passes through this sheet: clear and blue acrylic let a blue diode's light through, and it lands on what lies below. Use opaque sheet, and write its colour."},
		{"M022", "A dragged blade cannot cut this material."},
		{"M023", "The sheet is thicker than the blade cuts."},
		{"M025", "A warning: the sheet's thickness was not measured, and the one it is sold as is used. Cast sheet sold as 5 mm may be 4.1 to 5.9 mm; fins and slots fit to a tenth."},
		{"M030", "A reading of a test piece is out of all measure, or makes a kerf below 0.01 mm or above 1 mm. Count the pieces, push them close, read again; a bare number is in mm."},
		{"M031", "Readings of one size are too far apart to be readings of it: crumbs on an edge, a piece of the other comb, a figure miswritten."},
		{"M032", "No comb was measured that tells the kerf at the exit face, which is the one the job file wants."},
		{"M033", "A comb measured with every other piece turned over does not go with the same comb all one way up. Turned over it can only be shorter, and by less than a kerf a piece."},
		{"M034", "The distances between the ticks are incomplete, or no four points can have them. They are named A lower left, B lower right, C upper right, D upper left."},
		{"M035", "A note: one comb only was read. Kerfs differ between cuts along x and along y on many machines."},
		{"M036", "A note: a comb was read once. How well the reading repeats is assumed; three readings tell it."},
		{"M037", "The slots named for press, slide and loose are not in that order: press is the tightest."},
		{"M038", "A note: the square is not as large as the kerf found makes it. Read again; if it stays so, the machine loses steps or the sheet moved."},
		{"M039", "The test piece's joint was read further open than one that is shut can be, or with more or less beside its tail than its drawing and the kerf found leave. Brush crumbs off, press it shut, or its key home, and try the leaves again; or leave it empty."},
	}
}

// surveyCodes are about what layout finds in a table, its survey, its games and
// its house marks.
func surveyCodes() []Code {
	return []Code{
		{"S001", "A playing surface is smaller or larger than any table."},
		{"S002", "A game is not known. \"spotjig list games\" shows them."},
		{"S003", "A choice is not one of those known."},
		{"S004", "A ball's diameter is no ball's."},
		{"S020", "A house mark's position is too long or nests too deep."},
		{"S021", "A house mark's position cannot be read. Use + - * / and parentheses between L, W and lengths: \"W/6 + 10 mm\"."},
		{"S022", "A house mark's position is not a length: lengths add to lengths and are multiplied by plain numbers."},
		{"S023", "A house mark's position divides by 0."},
		{"S024", "A name or unit in a house mark's position is not known. L is the playing surface's length, W its width."},
		{"S025", "A job has too many house marks."},
		{"S026", "A house mark's id is not plain, or is used twice."},
		{"S027", "A house mark's kind is not spot, line, arc or rectangle."},
		{"S028", "A house mark's arc does not run counter-clockwise by 360 degrees at most."},
		{"S029", "A house mark lies far off the table, or has no size."},
		{"S040", "A reading of the survey is out of all measure."},
		{"S041", "A reading's place is in a pocket's mouth or past the middle of the cushion."},
		{"S042", "The readings do not give both a length and a width."},
		{"S060", "A file of readings is too large or not text."},
		{"S061", "A file of readings has no readings in it."},
		{"S062", "A line of readings has no colon after the place's name."},
		{"S063", "A place is given twice among the readings."},
		{"S064", "A word among the readings is not known: readings are taken from head, foot, left, right or another place."},
		{"S065", "A reading is not a length that can be measured on a table."},
		{"S066", "A place among the readings is not in the plan of the job."},
		{"S067", "The history beside a job is not one: readings before its first marking, or no plain file to add to."},
		{"S043", "The readings cannot belong to one table. The message names those to take again."},
	}
}
