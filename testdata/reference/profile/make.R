# Reference values for the wear curve, made by a general statistics library on
# an open data set: the annual flow of the Nile at Aswan, 1871-1970, 10^8 m^3
# (Cobb 1978; in R as datasets::Nile). Run: Rscript make.R
suppressMessages(library(mgcv))
y <- as.numeric(Nile); n <- length(y); x <- 1:n
D <- diff(diag(n), differences = 2); K <- crossprod(D)
wr <- function(d, f) {
  text <- format(d, digits = 12, trim = TRUE)
  text[is.na(d)] <- ""
  write.csv(text, f, row.names = FALSE, quote = FALSE)
}
num <- function(name, value) data.frame(name = name, value = value)

# 1. Whole series, no error of measuring: second-difference penalty, REML.
X <- diag(n)
g <- gam(y ~ X - 1, paraPen = list(X = list(K, rank = n - 2)), method = "REML")
p <- predict(g, se.fit = TRUE)
wr(data.frame(place = x, value = y, level = p$fit, se = p$se.fit), "nile-whole.csv")
whole <- rbind(num("scatter", sqrt(g$sig2)), num("bend", sqrt(g$sig2 / g$sp)), num("edf", sum(g$edf)))

# 2. The same as a natural cubic spline with a knot at every year.
s <- gam(y ~ s(x, bs = "cr", k = n), method = "REML")
q <- predict(s, se.fit = TRUE)
wr(data.frame(place = x, value = y, level = q$fit, se = q$se.fit), "nile-spline.csv")

# 3. Gaps, and an error of measuring of its own for each year (ours: 30, 60,
#    90, 120 in turn). mgcv finds the bend at a given scatter (variances known,
#    scale 1; the bends enter as a square root of their covariance with the
#    straight line taken out, since it is free); a line search finds the scatter.
keep <- setdiff(x, c(5, 30:41, 60, 77:79)); m <- length(keep)
e <- c(30, 60, 90, 120)[(keep %% 4) + 1]
L <- t(D) %*% solve(D %*% t(D))
d <- data.frame(y = y[keep], x = keep)
H <- cbind(1, keep); M <- diag(m) - H %*% solve(crossprod(H), t(H))
E <- eigen(M %*% tcrossprod(L[keep, ]) %*% M, symmetric = TRUE)
Z <- E$vectors[, 1:(m - 2)] %*% diag(sqrt(E$values[1:(m - 2)]))
at <- function(tau) {
  w <- 1 / (tau^2 + e^2)
  gam(y ~ x + Z, data = d, paraPen = list(Z = list(diag(m - 2))), method = "REML", weights = w, scale = 1,
    control = gam.control(epsilon = 1e-11, newton = list(conv.tol = 1e-10)))
}
tau <- optimize(function(t) at(t)$gcv.ubre, c(60, 200), tol = 1e-7)$minimum
bend <- as.numeric(1 / sqrt(at(tau)$sp))
# The level and its variance at those sizes, by dense algebra.
V <- diag(tau^2 + e^2); S <- matrix(0, length(keep), n); S[cbind(seq_along(keep), keep)] <- 1
A <- t(S) %*% solve(V) %*% S + K / bend^2
C <- solve(A); z <- C %*% t(S) %*% solve(V) %*% d$y
dense <- function(tau, bend) { # restricted log likelihood from its definition
  Vy <- diag(tau^2 + e^2) + bend^2 * tcrossprod(L[keep, ]); Xf <- cbind(1, keep)
  Vi <- solve(Vy); XVX <- t(Xf) %*% Vi %*% Xf; b <- solve(XVX, t(Xf) %*% Vi %*% d$y); r <- d$y - Xf %*% b
  -0.5 * ((length(keep) - 2) * log(2 * pi) + determinant(Vy)$modulus + determinant(XVX)$modulus + t(r) %*% Vi %*% r)
}
o <- optim(log(c(tau, bend)), function(t) -dense(exp(t[1]), exp(t[2])), method = "BFGS", control = list(reltol = 1e-14))
cat("mgcv:", tau, bend, -at(tau)$gcv.ubre, "dense there:", dense(tau, bend), "dense optimum:", exp(o$par), -o$value, "\n")
full <- rep(NA, n); full[keep] <- d$y; fe <- rep(NA, n); fe[keep] <- e
wr(data.frame(place = x, value = full, error = fe, level = as.numeric(z), se = sqrt(diag(C))), "nile-gaps.csv")
gaps <- rbind(num("scatter", tau), num("bend", bend), num("edf", sum(diag(S %*% C %*% t(S) %*% solve(V)))), num("loglik", -o$value))

# 4. Levels of sections beside the smooth: years divided by us into sections, one
#    of them (d) broken off and taken up again. The first year of the lower
#    level, 1899, begins a section. mgcv wants no more coefficients than data: of
#    the bends it gets the sixty leading eigenvectors of their covariance, whose
#    rest is less than a hundred-thousandth of the scatter's variance.
leading <- function(places) {
  H <- cbind(1, places); M <- diag(length(places)) - H %*% solve(crossprod(H), t(H))
  E <- eigen(M %*% tcrossprod(L[places, ]) %*% M, symmetric = TRUE)
  E$vectors[, 1:60] %*% diag(sqrt(E$values[1:60]))
}
section <- factor(rep(c("a", "b", "c", "d", "e", "f", "g", "d", "h"), c(8, 20, 3, 14, 1, 22, 2, 10, 20)))
Z <- leading(x)
l <- gam(y ~ x + Z + s(section, bs = "re"), paraPen = list(Z = list(diag(60))), method = "REML")
p <- predict(l, se.fit = TRUE)
wr(data.frame(place = x, value = y, section = as.integer(section), level = p$fit, se = p$se.fit), "nile-sections.csv")
sections <- rbind(num("scatter", sqrt(l$sig2)), num("bend", sqrt(l$sig2 / l$sp[1])), num("between", sqrt(l$sig2 / l$sp[2])), num("edf", sum(l$edf)))

# 5. The same years with the gaps and errors of 3: mgcv finds bend and levels at a
#    given scatter, a line search the scatter; section e has no measured year.
dropped <- setdiff(keep, 46); m <- length(dropped); e <- c(30, 60, 90, 120)[(dropped %% 4) + 1]
d <- data.frame(y = y[dropped], x = dropped, section = section[dropped])
Z <- leading(dropped)
at <- function(tau) gam(y ~ x + Z + s(section, bs = "re"), data = d, paraPen = list(Z = list(diag(60))), method = "REML",
  weights = 1 / (tau^2 + e^2), scale = 1,
  control = gam.control(epsilon = 1e-11, newton = list(conv.tol = 1e-10)))
tau <- optimize(function(t) at(t)$gcv.ubre, c(60, 200), tol = 1e-7)$minimum
size <- 1 / sqrt(at(tau)$sp)
G <- model.matrix(~ section - 1)
B <- cbind(diag(n), G); S <- B[dropped, ]; V <- diag(tau^2 + e^2)
A <- t(S) %*% solve(V) %*% S + rbind(cbind(K / size[1]^2, 0 * G), cbind(0 * t(G), diag(ncol(G)) / size[2]^2))
C <- B %*% solve(A) %*% t(B); z <- B %*% solve(A) %*% t(S) %*% solve(V) %*% d$y
dense <- function(tau, bend, between) { # restricted log likelihood from its definition
  Vy <- diag(tau^2 + e^2) + bend^2 * tcrossprod(L[dropped, ]) + between^2 * tcrossprod(G[dropped, ]); Xf <- cbind(1, dropped)
  Vi <- solve(Vy); XVX <- t(Xf) %*% Vi %*% Xf; b <- solve(XVX, t(Xf) %*% Vi %*% d$y); r <- d$y - Xf %*% b
  -0.5 * ((m - 2) * log(2 * pi) + determinant(Vy)$modulus + determinant(XVX)$modulus + t(r) %*% Vi %*% r)
}
o <- optim(log(c(tau, size)), function(t) -dense(exp(t[1]), exp(t[2]), exp(t[3])), method = "BFGS", control = list(reltol = 1e-14))
cat("mgcv:", tau, size, -at(tau)$gcv.ubre, "dense there:", dense(tau, size[1], size[2]), "dense optimum:", exp(o$par), -o$value, "\n")
full <- rep(NA, n); full[dropped] <- d$y; fe <- rep(NA, n); fe[dropped] <- e
wr(data.frame(place = x, value = full, error = fe, section = as.integer(section), level = as.numeric(z), se = sqrt(diag(C))), "nile-sections-gaps.csv")
both <- rbind(num("scatter", tau), num("bend", size[1]), num("between", size[2]), num("edf", sum(diag(C)[dropped] / diag(V))), num("loglik", -o$value))

# 6. As 5, with pictures on about half of the years, given and made to add 160 by
#    us: a fixed effect of a picture beside the line. The level is that of a year
#    without one.
picture <- as.numeric((x * 7) %% 11 < 5 | section == "g"); d$picture <- picture[dropped]; d$y <- d$y + 160 * d$picture
at <- function(tau) gam(y ~ x + picture + Z + s(section, bs = "re"), data = d, paraPen = list(Z = list(diag(60))), method = "REML",
  weights = 1 / (tau^2 + e^2), scale = 1,
  control = gam.control(epsilon = 1e-11, newton = list(conv.tol = 1e-10)))
tau <- optimize(function(t) at(t)$gcv.ubre, c(60, 200), tol = 1e-7)$minimum
size <- 1 / sqrt(at(tau)$sp)
B <- cbind(diag(n), G, 0); S <- B[dropped, ]; S[, ncol(S)] <- d$picture; V <- diag(tau^2 + e^2)
P <- matrix(0, ncol(S), ncol(S)); P[1:n, 1:n] <- K / size[1]^2; P[cbind(n + 1:ncol(G), n + 1:ncol(G))] <- 1 / size[2]^2
A <- solve(t(S) %*% solve(V) %*% S + P); u <- A %*% t(S) %*% solve(V) %*% d$y
C <- B %*% A %*% t(B); z <- B %*% u
dense <- function(tau, bend, between) { # restricted log likelihood from its definition
  Vy <- diag(tau^2 + e^2) + bend^2 * tcrossprod(L[dropped, ]) + between^2 * tcrossprod(G[dropped, ]); Xf <- cbind(1, dropped, d$picture)
  Vi <- solve(Vy); XVX <- t(Xf) %*% Vi %*% Xf; b <- solve(XVX, t(Xf) %*% Vi %*% d$y); r <- d$y - Xf %*% b
  -0.5 * ((m - 3) * log(2 * pi) + determinant(Vy)$modulus + determinant(XVX)$modulus + t(r) %*% Vi %*% r)
}
o <- optim(log(c(tau, size)), function(t) -dense(exp(t[1]), exp(t[2]), exp(t[3])), method = "BFGS", control = list(reltol = 1e-14))
cat("mgcv:", tau, size, coef(at(tau))["picture"], -at(tau)$gcv.ubre, "dense there:", dense(tau, size[1], size[2]), "picture:", tail(u, 1), "dense optimum:", exp(o$par), -o$value, "\n")
full <- rep(NA, n); full[dropped] <- d$y; fe <- rep(NA, n); fe[dropped] <- e
wr(data.frame(place = x, value = full, error = fe, section = as.integer(section), picture = picture, level = as.numeric(z), se = sqrt(diag(C))), "nile-pictures.csv")
pictures <- rbind(num("scatter", tau), num("bend", size[1]), num("between", size[2]), num("picture", tail(u, 1)), num("picture_se", sqrt(tail(diag(A), 1))),
  num("edf", sum(diag(S %*% A %*% t(S)) / diag(V))), num("loglik", -o$value))

wr(rbind(transform(whole, case = "whole"), transform(gaps, case = "gaps"), transform(sections, case = "sections"), transform(both, case = "sections and gaps"), transform(pictures, case = "pictures")), "nile-sizes.csv")
writeLines(c(R.version.string, paste("mgcv", packageVersion("mgcv"))), "VERSIONS")

# Adjusted p-values of the fifteen of Benjamini and Hochberg (1995), section 4.1.
p <- c(.0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344, .0459, .3240, .4262, .5719, .6528, .7590, 1)
wr(data.frame(p = p, bh = p.adjust(p, "BH")), "adjusted.csv")
