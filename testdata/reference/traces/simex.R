# The worked example of the R package simex (Lederer, Seibold and Küchenhoff, version 1.8,
# reference page of simex(), printed output at wolfganglederer/simex,
# docs/reference/simex.html): data drawn with its seed, and what simex() makes of them with
# many more simulations than the 100 printed there. Run: Rscript simex.R
# writes simex-data.csv and simex.csv. The package is on CRAN alone.
library(simex)
set.seed(49494)
sd_me <- 0.3; sd_me2 <- 0.4
temp <- runif(100, min = 0, max = 0.6); sd_me_het1 <- sort(temp)
temp2 <- rnorm(100, sd = 0.1); sd_me_het2 <- abs(sd_me_het1 + temp2)
x_real <- rnorm(100); x_real2 <- rpois(100, lambda = 2)
x_real3 <- -4 * x_real + runif(100, min = -10, max = 10)
x_measured <- x_real + sd_me * rnorm(100)
x_measured2 <- x_real2 + sd_me2 * rnorm(100)
x_het1 <- x_real + sd_me_het1 * rnorm(100)
x_het2 <- x_real3 + sd_me_het2 * rnorm(100)
y <- x_real + rnorm(100, sd = 0.05)
y2 <- x_real + 2 * x_real2 + rnorm(100, sd = 0.08)
y3 <- x_real + 2 * x_real3 + rnorm(100, sd = 0.08)
as_printed <- lm(y ~ x_measured, x = TRUE)
print(coef(as_printed), digits = 5)                               # printed there: -0.01217 0.90327
print(coef(simex(as_printed, SIMEXvariable = "x_measured", measurement.error = sd_me)), digits = 5) # -0.01528 0.97007

# The same with so many simulations that their chance does not matter, and likewise of a
# yes or no that hangs on the feature, measured with an error of another size in each row.
set.seed(1)
rubbed <- as.integer(runif(100) < plogis(1.5 * x_real))
row <- function(of, model, variable, error) {
  run <- function(B) { out <- simex(model, SIMEXvariable = variable, measurement.error = error, B = B, asymptotic = FALSE); c(coef(out)[[2]], sqrt(out$variance.jackknife[2, 2])) }
  many <- run(400)
  few <- replicate(40, run(20)) # what chance does to 20 simulations of each size
  data.frame(of = of, naive = coef(model)[[2]], naive_se = sqrt(vcov(model)[2, 2]), simex = many[1], simex_se = many[2],
             simex_by_chance = sd(few[1, ]), simex_se_by_chance = sd(few[2, ], na.rm = TRUE))
}
logistic <- glm(rubbed ~ x_het1, family = binomial, x = TRUE)
write.csv(rbind(row("measure", as_printed, "x_measured", sd_me), row("yes or no", logistic, "x_het1", sd_me_het1)), "simex.csv", row.names = FALSE)
write.csv(data.frame(x_measured, y, x_het1, sd_het1 = sd_me_het1, rubbed), "simex-data.csv", row.names = FALSE)
