# Reference values for the grouping of readers, made by a general statistics
# library on two open data sets that come with it, and two more of R: ruspini, 75 points in the
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
# 3. Two published sets of animals and plants whose kinds are known, to be told apart or
#    not: iris, 150 flowers of three species (Anderson 1935, Bulletin of the American Iris
#    Society 59, 2-5; Fisher 1936, Annals of Eugenics 7, 179-188), and crabs, 200 crabs of
#    two colour forms, later two species, and both sexes (Campbell and Mahon 1974,
#    Australian Journal of Zoology 22, 417-425; MASS, Venables and Ripley 2002). axes.csv
#    has the first principal axis of each and its share of the variance.
data(crabs, package = "MASS")
wr(data.frame(iris[, 1:4], kind = iris$Species), "iris.csv")
wr(data.frame(crabs[, c("FL", "RW", "CL", "CW", "BD")], kind = paste0(crabs$sp, crabs$sex)), "crabs.csv")
axes <- NULL
for (name in c("iris", "crabs")) {
  p <- prcomp(if (name == "iris") iris[, 1:4] else crabs[, 4:8])
  axes <- rbind(axes, data.frame(set = name, column = rownames(p$rotation), axis = p$rotation[, 1], share = p$sdev[1]^2 / sum(p$sdev^2)))
}
wr(axes, "axes.csv")
writeLines(c(R.version.string, paste("cluster", packageVersion("cluster")), paste("MASS", packageVersion("MASS"))), "VERSIONS")
