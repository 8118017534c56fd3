# Reference values for the grouping of readers, made by a general statistics
# library on two open data sets that come with it: ruspini, 75 points in the
# plane (Ruspini 1970, Information Sciences 2, 319-350), and agriculture, 12
# countries by their product and the share of it from agriculture (Kaufman and
# Rousseeuw 1990, Finding Groups in Data, p. 298; Eurostat 1993).
# Run: Rscript make.R
suppressMessages(library(cluster))
data(ruspini, agriculture, package = "cluster")
wr <- function(d, f) write.csv(format(d, digits = 12, trim = TRUE), f, row.names = FALSE, quote = FALSE)
sets <- list(ruspini = as.matrix(ruspini), agriculture = as.matrix(agriculture))
parts <- NULL; medoids <- NULL; gaps <- NULL
for (name in names(sets)) {
  x <- sets[[name]]
  wr(data.frame(x = x[, 1], y = x[, 2]), paste0(name, ".csv"))
  # 1. Partitions around medoids, by their build and swap phases.
  for (k in 2:6) {
    p <- pam(x, k)
    parts <- rbind(parts, data.frame(set = name, k = k, row = seq_len(nrow(x)), medoid = p$id.med[p$clustering]))
    medoids <- rbind(medoids, data.frame(set = name, k = k, objective = p$objective["swap"], silhouette = p$silinfo$avg.width))
  }
  # 2. The gap statistic with squared distances and uniform references along the
  #    principal axes. log(W) is exact; the rest is of 2,000 references.
  set.seed(1)
  g <- clusGap(x, FUNcluster = function(x, k) list(cluster = pam(x, k, cluster.only = TRUE)), K.max = 8, B = 2000,
    d.power = 2, spaceH0 = "scaledPCA", verbose = FALSE)$Tab
  gaps <- rbind(gaps, data.frame(set = name, k = 1:8, logw = g[, "logW"], expected = g[, "E.logW"], gap = g[, "gap"],
    sd = g[, "SE.sim"] / sqrt(1 + 1 / 2000)))
}
wr(parts, "partitions.csv"); wr(medoids, "objectives.csv"); wr(gaps, "gaps.csv")
writeLines(c(R.version.string, paste("cluster", packageVersion("cluster"))), "VERSIONS")
