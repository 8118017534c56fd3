# Reference values for tests of questions, by R's stats package: Holm's
# adjustment of the fifteen p-values of Benjamini and Hochberg (1995), section
# 4.1, and one-sided, two-sided and equivalence tests on Student's sleep data
# (Student 1908, Biometrika 6, 1-25; in R as datasets::sleep). Run: Rscript make.R
wr <- function(d, f) write.csv(format(d, digits = 14, trim = TRUE, scientific = FALSE), f, row.names = FALSE, quote = FALSE)
p <- c(.0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344, .0459, .3240, .4262, .5719, .6528, .7590, 1)
wr(data.frame(p = p, holm = p.adjust(p, "holm")), "adjusted.csv")
wr(data.frame(extra = sleep$extra, drug = paste0("d", sleep$group), patient = paste0("p", sleep$ID)), "sleep.csv")
x <- sleep$extra[sleep$group == 2]; y <- sleep$extra[sleep$group == 1]
test <- function(paired, mu, way) t.test(x, y, paired = paired, var.equal = TRUE, mu = mu, alternative = way)
row <- function(paired, s) {
  t <- test(paired, 0, "two.sided")
  data.frame(paired = paired, smallest = s, estimate = if (paired) t$estimate else -diff(t$estimate),
    t = t$statistic, df = t$parameter, low = t$conf.int[1], high = t$conf.int[2], either = t$p.value,
    more = test(paired, 0, "greater")$p.value, less = test(paired, 0, "less")$p.value,
    short = test(paired, s, "less")$p.value, over = test(paired, -s, "greater")$p.value)
}
wr(rbind(row(FALSE, 2), row(FALSE, 4), row(TRUE, 2), row(TRUE, 3)), "sleep-tests.csv")
writeLines(R.version.string, "VERSIONS")
