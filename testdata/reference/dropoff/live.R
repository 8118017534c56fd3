# Optimal partitions of series given on the command line, live:
#   Rscript live.R SERIES.csv
# SERIES.csv has columns series, least, most, value; prints, as CSV, for each
# series and number of changes the residual sum of squares and the processor seconds that
# breakpoints() of strucchange took for the whole series.
suppressMessages(library(strucchange))
all <- read.csv(commandArgs(trailingOnly = TRUE)[1])
cat("series,changes,rss,seconds\n")
for (k in unique(all$series)) {
  d <- all[all$series == k, ]
  y <- d$value
  took <- sum(system.time(fit <- breakpoints(y ~ 1, h = d$least[1], breaks = d$most[1]))[c("user.self", "sys.self")])
  for (m in 0:d$most[1]) {
    b <- if (m == 0) integer(0) else breakpoints(fit, breaks = m)$breakpoints
    id <- findInterval(seq_along(y), b + 1)
    rss <- sum(ave(y, id, FUN = function(v) (v - mean(v))^2))
    cat(sprintf("%s,%d,%.15g,%.4f\n", k, m, rss, took))
  }
}
