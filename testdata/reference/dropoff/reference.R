# Reference values for models/dropoff, computed with R and the packages named
# in versions.txt. Run in this folder:  Rscript reference.R
#
# series.csv     the series, one row a value
# partitions.csv optimal partitions by number of changes (strucchange,
#                breakpoints; Bai and Perron 2003, Journal of Applied
#                Econometrics 18, 1-22), with their residual sums of squares
# intervals.csv  95 % intervals of the places (strucchange, confint; Bai 1997)
# isotonic.csv   isotonic regressions (stats, isoreg)
suppressMessages(library(strucchange))
options(digits = 17)

num <- function(x) sprintf("%.15g", x)

# The Nile: annual flow at Aswan 1871-1970, 10^8 m^3 (R datasets::Nile; Cobb
# 1978, Biometrika 65, 243-251).
made <- function(seed, n, places, levels, sd, rho = 0, df = Inf) {
  set.seed(seed)
  level <- levels[findInterval(seq_len(n), places + 1) + 1]
  e <- if (is.finite(df)) rt(n, df) * sd else rnorm(n, 0, sd)
  if (rho != 0) e <- as.numeric(stats::filter(e, rho, "recursive"))
  round(level + e, 6)
}
series <- list(
  nile = as.numeric(datasets::Nile),
  short = made(1, 20, 9, c(0, 2), 0.7),
  three = made(2, 60, c(15, 33, 41), c(0.3, 0.5, 0.2, 0.4), 0.08),
  none = made(3, 50, integer(0), 0, 1),
  alike = made(4, 80, c(40), c(0, 1), 0.5, rho = 0.5),
  heavy = made(5, 70, c(20, 50), c(1, -1, 1), 0.6, df = 3),
  many = made(6, 120, c(12, 30, 44, 60, 77, 98), c(0, 1, 0, 2, 1, 3, 2), 0.4)
)
least <- c(nile = 2, short = 1, three = 2, none = 3, alike = 5, heavy = 2, many = 4)
most <- c(nile = 8, short = 5, three = 8, none = 5, alike = 5, heavy = 8, many = 10)

write.csv(do.call(rbind, lapply(names(series), function(k)
  data.frame(series = k, row = seq_along(series[[k]]), value = num(series[[k]])))),
  "series.csv", row.names = FALSE, quote = FALSE)

partitions <- intervals <- NULL
for (k in names(series)) {
  y <- series[[k]]
  h <- max(least[[k]], 2)
  # strucchange needs more rows in a segment than regressors: 2 or more here.
  fit <- breakpoints(y ~ 1, h = h, breaks = most[[k]])
  for (m in 0:most[[k]]) {
    b <- if (m == 0) integer(0) else breakpoints(fit, breaks = m)$breakpoints
    id <- findInterval(seq_along(y), b + 1)
    rss <- sum(ave(y, id, FUN = function(v) (v - mean(v))^2))
    partitions <- rbind(partitions, data.frame(series = k, least = h, changes = m,
      places = paste(b, collapse = " "), rss = num(rss)))
  }
  for (m in seq_len(min(3, most[[k]]))) {
    ci <- try(confint(fit, breaks = m)$confint, silent = TRUE)
    if (inherits(ci, "try-error")) next
    intervals <- rbind(intervals, data.frame(series = k, changes = m, place = ci[, 2], low = ci[, 1], high = ci[, 3]))
  }
}
write.csv(partitions, "partitions.csv", row.names = FALSE, quote = FALSE)
write.csv(intervals, "intervals.csv", row.names = FALSE, quote = FALSE)

set.seed(7)
isotonic <- do.call(rbind, lapply(1:6, function(k) {
  n <- c(3, 8, 8, 20, 50, 5)[k]
  y <- if (k == 6) rep(0.4, n) else round(rnorm(n, seq(1, 0, length.out = n), 0.4), 3)
  # isoreg fits a rising curve; ours falls: both signs turned.
  data.frame(series = k, row = seq_len(n), value = num(y), falling = num(-isoreg(-y)$yf))
}))
write.csv(isotonic, "isotonic.csv", row.names = FALSE, quote = FALSE)

writeLines(c(R.version.string, paste("strucchange", packageVersion("strucchange"))), "versions.txt")
