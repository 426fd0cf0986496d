package identify_test

import (
	"fmt"
	"math"
	"math/rand"
	"strconv"
	"strings"
)

// A textForm prints one line of a value.
type textForm struct {
	name     string
	line     func(i int, v float64, r *rand.Rand) string
	decimals int
	unit     string
	motions  []motion
	open     bool
}

func dial(name, unit, format string, motions ...motion) textForm {
	return textForm{name: name, unit: unit, decimals: 3, motions: motions,
		line: func(i int, v float64, _ *rand.Rand) string { return fmt.Sprintf(format, v) }}
}

func form(name, unit string, decimals int, line func(i int, v float64, r *rand.Rand) string, motions ...motion) textForm {
	return textForm{name: name, unit: unit, decimals: decimals, motions: motions, line: line}
}

func opened(f textForm) textForm { f.open = true; return f }

// wander is a quantity that nobody measures: temperature, battery.
func wander(base, step float64, i int) float64 {
	return base + step*math.Round(1.4*math.Sin(float64(i)/29))
}

func signLast(v float64, between string) string {
	s := " "
	if v < 0 {
		s = "-"
	}
	return fmt.Sprintf("%.3f%s%s", math.Abs(v), between, s)
}

func signFirst(v float64, plus, minus string) string {
	if math.Signbit(v) && v != 0 {
		return minus + fmt.Sprintf("%07.3f", -v)
	}
	return plus + fmt.Sprintf("%07.3f", v)
}

func grouped(v float64) string {
	s := fmt.Sprintf("%.1f", v)
	if len(s) > 5 {
		s = s[:len(s)-5] + "," + s[len(s)-5:]
	}
	return s
}

func xorHex(s string) string {
	var x byte
	for _, c := range []byte(s) {
		x ^= c
	}
	return fmt.Sprintf("%02X", x)
}

func textForms() []textForm {
	type rnd = *rand.Rand
	return []textForm{
		dial("bare, CRLF", "", "%.3f\r\n", rock, swing, rockHigh),
		dial("bare, CR", "", "%.3f\r", rock, swing),
		dial("bare, LF", "", "%.3f\n", rock, swing),
		dial("signed", "", "%+.3f\r\n", swing, wide),
		dial("padded with zeros", "", "%+09.3f\r\n", swing, wide),
		dial("padded with spaces", "", "%9.3f\r\n", swing, wide),
		dial("with mm", "mm", "%.3f mm\r\n", rock, swing),
		dial("with mm, attached", "mm", "%+.3fmm\r", swing, wide),
		dial("with MM", "mm", "%9.3f MM\r\n", swing),
		dial("label and mm", "mm", "X=%.3f mm\r\n", swing, rock),
		dial("label with colon", "mm", "Dial: %.3f mm\r\n", swing, rock),
		dial("quotes", "mm", "\"%.3f\",\"mm\"\r\n", swing, rock),
		dial("brackets", "mm", "[%.3f mm]\r\n", swing, rock),
		dial("angle brackets", "", "<%+.3f>\r\n", swing, rock),
		dial("parentheses and unit", "mm", "(%8.3f) mm\r\n", swing),
		dial("STX and ETX", "mm", "\x02%+.3f mm\x03\r\n", swing, rock),
		dial("STX and ETX alone", "", "\x02%+08.3f\x03", swing, rock),
		dial("semicolon ends the value", "", "%.3f;\r\n", swing, rock),
		dial("JSON", "mm", "{\"value\":%.3f,\"unit\":\"mm\"}\r\n", swing, rock),
		dial("hash first", "", "#%.3f\r\n", swing, rock),
		dial("value word", "", "value %.3f\n", swing, rock),
		dial("greater than", "", ">%.3f\n", swing),
		dial("tab before", "", "\t%.3f\r\n", swing),
		dial("two words", "mm", "Reading is %.3f mm\r\n", swing, rock),
		dial("equals with spaces", "mm", "pos = %.3f [mm]\n", swing, rock),
		dial("dollar", "", "$%.3f\r", rock, swing),
		form("with in", "in", 4, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.4f in\r\n", v) }, rock, swing),
		form("with inch mark", "in", 5, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.5f\"\r\n", v) }, rock, swing),
		form("no zero before the point", "in", 4, func(i int, v float64, _ rnd) string {
			return strings.Replace(fmt.Sprintf("%.4f in\r\n", v), "0.", ".", 1)
		}, rock, swing),
		form("sign after a space", "mm", 3, func(i int, v float64, _ rnd) string { return signLast(v, " ") + " mm\r\n" }, swing, wide),
		form("sign behind", "", 3, func(i int, v float64, _ rnd) string { return signLast(v, "") + "\r\n" }, swing, wide),
		form("sign apart", "mm", 3, func(i int, v float64, _ rnd) string {
			s := "+"
			if v < 0 {
				s = "-"
			}
			return fmt.Sprintf("%s %7.3f mm\r\n", s, math.Abs(v))
		}, swing, wide),
		form("sign in its own column", "mm", 3, func(i int, v float64, _ rnd) string {
			s := "+"
			if v < 0 {
				s = "-"
			}
			return fmt.Sprintf("%s,%07.3f,mm\r\n", s, math.Abs(v))
		}, swing, wide),
		form("sign letters", "", 3, func(i int, v float64, _ rnd) string { return signFirst(v, "P", "N") + "\r\n" }, swing),
		form("thousands", "kPa", 1, func(i int, v float64, _ rnd) string { return grouped(v) + " kPa\r\n" }, pressure),
		form("thousands, no unit", "", 1, func(i int, v float64, _ rnd) string { return grouped(v) + "\r\n" }, pressure),
		form("decimal comma", "", 3, func(i int, v float64, _ rnd) string {
			return strings.Replace(fmt.Sprintf("%.3f\r\n", v), ".", ",", 1)
		}, rock, swing),
		form("decimal comma, mm", "mm", 3, func(i int, v float64, _ rnd) string {
			return strings.Replace(fmt.Sprintf("%+.3f mm\r\n", v), ".", ",", 1)
		}, rock, swing),
		form("semicolons, decimal comma", "", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("12:30:%02d;%s\r\n", i%60, strings.Replace(fmt.Sprintf("%.3f", v), ".", ",", 1))
		}, swing, rock),
		form("zeros dropped", "", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%v\r\n", v) }, rock, swing),
		form("MPa", "MPa", 4, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.4f MPa\r\n", v) }, pressure),
		form("mbar", "mbar", 1, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.1f mbar\r\n", v) }, pressure),
		form("kgf/cm2", "kgf/cm²", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.3f kgf/cm2\r\n", v) }, pressure),
		form("inH2O", "inH2O", 2, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.2f inH2O\r\n", v) }, pressure),
		form("bar with label", "bar", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("P1: %.3f bar\r\n", v) }, pressure),
		form("psi", "psi", 2, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.2f psi\r\n", v) }, pressure),
		form("N·m", "N·m", 1, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.1f N.m\r\n", v) }, torque),
		form("dN·m", "dN·m", 1, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.1f dN.m\r\n", v) }, torque),
		form("cN·m", "cN·m", 1, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.1f cNm\r\n", v) }, torque),
		form("ozf·in", "ozf·in", 1, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.1f ozf.in\r\n", v) }, torque),
		form("ft.lbs", "lbf·ft", 1, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.1f ft.lbs\r\n", v) }, torque),
		form("kgf·cm", "kgf·cm", 1, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.1f kgf-cm\r\n", v) }, torque),
		form("range change", "N·m", 1, func(i int, v float64, _ rnd) string {
			if v > 99.95 {
				return fmt.Sprintf("%.0f N.m\r\n", v)
			}
			return fmt.Sprintf("%.1f N.m\r\n", v)
		}, torque),
		form("um", "µm", 0, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.0f um\r\n", v) }, swing, rock),
		form("uin", "µin", 0, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.0f uin\r\n", v) }, wide),
		form("whole counts", "", 0, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%d\r\n", int(v)) }, swing, wide),
		form("counter first", "", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%d,%.3f\r\n", i, v) }, swing, rock),
		form("counter last", "", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.3f,%d\r\n", v, i) }, swing, rock),
		form("seconds first", "mm", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.2f,%.3f,mm\r\n", 100+float64(i)*0.05, v) }, swing, rock),
		form("clock first", "mm", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("12:%02d:%02d %+.3f mm\r\n", i/60, i%60, v) }, swing, rock),
		form("date and clock", "mm", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("2026-03-04T10:%02d:%02d.%03d %.3f mm\r\n", i/60, i%60, i*37%1000, v)
		}, swing, rock),
		form("date in columns", "mm", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("2026/03/04,10:%02d:%02d,%.3f,mm,OK\r\n", i/60, i%60, v)
		}, swing, rock),
		form("space-parted", "", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("%4d %8.3f %5.1f\r\n", i, v, wander(21.4, 0.1, i))
		}, swing, wide),
		form("tabs", "", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%d\t%.3f\t20.5 C\r\n", i, v) }, swing, rock),
		form("pipes", "mm", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("A|%.3f|mm|7\r\n", v) }, swing, rock),
		form("temperature named first", "mm", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("T=%.1f X=%.3f mm\r\n", wander(21.4, 0.1, i), v)
		}, swing, rock),
		form("temperature in °C first", "mm", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("%.1f C, %.3f mm\r\n", wander(21.4, 0.1, i), v)
		}, swing, rock),
		form("battery first", "", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("BAT=%.2f V;VAL=%.3f\r\n", wander(3.01, 0.01, i), v)
		}, swing, rock),
		form("battery beside, no names", "", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.2f,%.3f\r\n", wander(3.01, 0.01, i), v) }, swing, rock),
		form("minimum and maximum named", "mm", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("MIN %.3f MAX %.3f VAL %.3f mm\r\n", -0.31+0.001*math.Round(float64(i)/40), 0.32, v)
		}, swing),
		form("minimum, no names", "", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("%.3f %.3f\r\n", -0.31+0.001*math.Round(float64(i)/60), v)
		}, swing),
		form("JSON with temperature", "", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("{\"t\":%d,\"temp\":%.1f,\"pos\":%.3f}\n", 1000+i*50, wander(21.4, 0.1, i), v)
		}, swing, rock),
		form("JSON, value first", "mm", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("{\"reading\": %.3f, \"unit\": \"mm\", \"battery\": %d}\n", v, 87-i/50)
		}, swing, rock),
		form("key=value", "mm", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("id=7;n=%d;pos=%.3f;unit=mm\n", i, v) }, swing, rock),
		form("URL", "", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("?x=%.3f&n=%d\n", v, i) }, swing),
		opened(form("two that move", "", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("%.3f,%.3f\r\n", v, 0.161+0.12*math.Sin(float64(i)/5))
		}, swing, rock)),
		opened(form("two named that move", "", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("X=%.3f mm Y=%.3f mm\r\n", v, 0.161+0.12*math.Sin(float64(i)/5))
		}, swing, rock)),
		form("state letter", "mm", 3, func(i int, v float64, r rnd) string {
			return fmt.Sprintf("%+08.3f mm %c\r\n", v, "SSSU"[r.Intn(4)])
		}, swing, rock),
		form("state letter first", "mm", 3, func(i int, v float64, r rnd) string { return fmt.Sprintf("%c %8.3f mm\r\n", "SSSD"[r.Intn(4)], v) }, swing, rock),
		form("state words", "mm", 3, func(i int, v float64, r rnd) string {
			return fmt.Sprintf("%s;NET;%+09.3fmm\r\n", []string{"OK", "MV"}[r.Intn(2)], v)
		}, swing, rock),
		form("hold word at times", "mm", 3, func(i int, v float64, r rnd) string {
			if i%50 > 44 {
				return fmt.Sprintf("%.3f mm HOLD\r\n", v)
			}
			return fmt.Sprintf("%.3f mm\r\n", v)
		}, swing, rock),
		form("checksum after a star", "mm", 3, func(i int, v float64, _ rnd) string {
			s := fmt.Sprintf("GAUGE,%.3f,mm", v)
			return "$" + s + "*" + xorHex(s) + "\r\n"
		}, swing, rock),
		form("checksum and a counter", "", 3, func(i int, v float64, _ rnd) string {
			s := fmt.Sprintf("DV,%03d,%+.3f", i%1000, v)
			return "$" + s + "*" + xorHex(s) + "\r\n"
		}, swing),
		form("hex counts", "", 0, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%04X\r\n", int(v)) }, rockHigh, pressure),
		form("signed hex", "", 0, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%04X\r\n", uint16(int16(v))) }, wide),
		form("hex with 0x", "", 0, func(i int, v float64, _ rnd) string { return fmt.Sprintf("0x%06x\n", int(v)) }, pressure),
		form("multiplexer, two gauges", "mm", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("D1 %+.3f mm\r\nD2 %+.3f mm\r\n", v, 1.5)
		}, swing),
		form("banner between", "mm", 3, func(i int, v float64, _ rnd) string {
			if i%20 == 7 {
				return fmt.Sprintf("-- ready --\r\n%.3f mm\r\n", v)
			}
			return fmt.Sprintf("%.3f mm\r\n", v)
		}, swing, rock),
		form("two kinds of line", "mm", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("$POS,%.3f,mm\r\n$ENV,%.1f,C\r\n", v, wander(21.4, 0.1, i))
		}, swing, rock),
		form("apostrophes", "", 1, func(i int, v float64, _ rnd) string { return strings.ReplaceAll(grouped(v), ",", "'") + "\r\n" }, pressure),
		form("exponent", "", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%+.6E\r\n", v) }, swing, rock),
		form("exponent with unit", "mm", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.5E mm\r\n", v) }, swing, rock),
		form("ended by a bar", "", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%+08.3f|", v) }, swing),
	}
}

// textStreams makes n values of each form in each of its motions, or in the one
// given.
func textStreams(r *rand.Rand, n int, only *motion) []invented {
	var list []invented
	for _, f := range append(textForms(), laterForms()...) {
		for _, m := range orOnly(f.motions, only) {
			s := invented{name: f.name + ", " + m.name, unit: f.unit, open: f.open}
			for i, c := range m.counts(r, n) {
				v, _ := strconv.ParseFloat(fmt.Sprintf("%.*f", f.decimals, float64(c)/math.Pow10(f.decimals)), 64)
				if f.name == "range change" && v > 99.95 {
					v = math.RoundToEven(v)
				}
				s.values = append(s.values, v)
				s.bytes = append(s.bytes, f.line(i, v, r)...)
			}
			list = append(list, s)
		}
	}
	return list
}

func orOnly(all []motion, only *motion) []motion {
	if only != nil {
		return []motion{*only}
	}
	return all
}
