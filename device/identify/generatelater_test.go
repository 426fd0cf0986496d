package identify_test

import (
	"fmt"
	"math"
	"math/rand"
	"strings"
)

// laterForms are forms that were thought of when identify was done: it was not
// fitted to them.
func laterForms() []textForm {
	type rnd = *rand.Rand
	eu := func(v float64, decimals int) string {
		return strings.Replace(fmt.Sprintf("%.*f", decimals, v), ".", ",", 1)
	}
	return []textForm{
		form("NRTB", "", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("N:%d R:%.3f T:%.1f B:%d\r\n", i, v, wander(21.4, .1, i), 87-i/60)
		}, swing, rock),
		opened(form("three movers", "", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("%.3f;%.3f;%.3f\r\n", v, .3*math.Sin(float64(i)/4), .2*math.Cos(float64(i)/6))
		}, swing, rock)),
		form("mm C V", "mm", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("%.3f mm %.1f C %.2f V\r\n", v, wander(21.4, .1, i), wander(3.01, .01, i))
		}, swing, rock),
		opened(form("XY glued", "", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("X%.3fY%.3f\r\n", v, .3*math.Sin(float64(i)/4))
		}, swing, rock)),
		form("X glued", "", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("X%+08.3f\r\n", v) }, swing, rock),
		form("value min max", "", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("%.3f,%.3f,%.3f\r\n", v, -.302+.001*float64(i/50), .303)
		}, swing, rock),
		form("min value max", "", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.3f,%.3f,%.3f\r\n", -.302, v, .303) }, swing, rock),
		form("running min/max", "", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("MIN=%.3f MAX=%.3f CUR=%.3f\r\n", -math.Min(.3, float64(i)*.01), math.Min(.3, float64(i)*.01), v)
		}, swing),
		form("deg mm", "mm", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("%.1f deg %.3f mm\r\n", wander(12.5, .1, i), v)
		}, swing, rock),
		form("arrows", "", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf(">>> %.3f <<<\r\n", v) }, swing, rock),
		form("ABS behind", "mm", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%.3fmm(ABS)\r\n", v) }, swing, rock),
		form("ABS before", "mm", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("ABS %.3f mm\r\n", v) }, swing, rock),
		form("flag", "", 3, func(i int, v float64, r rnd) string { return fmt.Sprintf("%.3f,%d\r\n", v, r.Intn(2)) }, swing, rock),
		form("eu columns", "mm", 3, func(i int, v float64, _ rnd) string { return fmt.Sprintf("%d;%s;mm\r\n", i, eu(v, 3)) }, swing, rock),
		form("eu columns temp", "mm", 3, func(i int, v float64, _ rnd) string {
			return fmt.Sprintf("%s;%s;mm\r\n", eu(wander(21.4, .1, i), 1), eu(v, 3))
		}, swing, rock),
		form("eu thousands", "kPa", 1, func(i int, v float64, _ rnd) string {
			s := grouped(v)
			return strings.NewReplacer(",", ".", ".", ",").Replace(s) + " kPa\r\n"
		}, pressure),
		form("thousands no decimals", "kPa", 0, func(i int, v float64, _ rnd) string {
			s := fmt.Sprint(int(v))
			if len(s) > 3 {
				s = s[:len(s)-3] + "," + s[len(s)-3:]
			}
			return s + " kPa\r\n"
		}, pressure, rockHigh),
		form("status number first", "", 3, func(i int, v float64, r rnd) string { return fmt.Sprintf("%02d %+.3f\r\n", 16+r.Intn(2), v) }, swing, rock),
		form("hex tail", "mm", 3, func(i int, v float64, r rnd) string { s := fmt.Sprintf("%+08.3fmm", v); return s + xorHex(s) + "\r\n" }, swing, rock),
		form("echo and value", "mm", 3, func(i int, v float64, r rnd) string { return fmt.Sprintf("R\r\n%.3f mm\r\n", v) }, swing, rock),
		form("unit first", "mm", 3, func(i int, v float64, r rnd) string { return fmt.Sprintf("mm %.3f\r\n", v) }, swing, rock),
		form("two units", "mm", 3, func(i int, v float64, r rnd) string { return fmt.Sprintf("%.3f mm %.5f in\r\n", v, v/25.4) }, swing, rock),
		form("time in ms", "", 3, func(i int, v float64, r rnd) string { return fmt.Sprintf("[%8d] %.3f\r\n", 1000+i*50+r.Intn(5), v) }, swing, rock),
		form("speed and position", "mm", 3, func(i int, v float64, r rnd) string {
			return fmt.Sprintf("POS %.3f mm VEL %.2f mm/s\r\n", v, 3*math.Sin(float64(i)/3))
		}, swing, rock),
		form("torque angle", "N·m", 1, func(i int, v float64, r rnd) string { return fmt.Sprintf("%.1f Nm %.1f deg\r\n", v, float64(i%30)*3.1) }, torque),
		form("no decimals um signed", "µm", 0, func(i int, v float64, r rnd) string { return fmt.Sprintf("%+05d um\r\n", int(v)) }, swing, rock),
		form("4 digits no point", "", 0, func(i int, v float64, r rnd) string { return fmt.Sprintf("%05d\r\n", int(v)) }, pressure, rockHigh),
	}
}
