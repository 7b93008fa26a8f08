# Makes atleast.csv and holds.csv with base R. Run in this folder:
#   Rscript --vanilla reference.R
# Three ways that share nothing with the program's own sum: enumeration of every
# bag by chained dhyper or by dmultinom, inclusion and exclusion over missing
# colours, and a chain of conditional counts (dhyper, dbinom) colour by colour.
options(digits = 15)
fmt <- function(x) sprintf("%.15g", x)
join <- function(v) paste(format(v, trim = TRUE, scientific = FALSE), collapse = " ")
vers <- paste0("R ", R.version$major, ".", R.version$minor)

bags <- function(k, n, top) { # all counts of k colours that sum to n
  if (k == 1) return(if (n <= top[1]) matrix(n) else matrix(0L, 0, 1))
  out <- lapply(0:min(n, top[1]), function(x) {
    r <- bags(k - 1, n - x, top[-1]); cbind(rep(x, nrow(r)), r) })
  do.call(rbind, out)
}
enum.hyper <- function(K, n, least) {
  x <- bags(length(K), n, K); x <- x[colSums(t(x) >= least) == length(K), , drop = FALSE]
  p <- apply(x, 1, function(r) { m <- n; rest <- sum(K); p <- 1
    for (i in seq_along(K)) { rest <- rest - K[i]; p <- p * dhyper(r[i], K[i], rest, m); m <- m - r[i] }
    p })
  sum(sort(p))
}
enum.multi <- function(s, n, least) {
  x <- bags(length(s), n, rep(n, length(s))); x <- x[colSums(t(x) >= least) == length(s), , drop = FALSE]
  sum(sort(apply(x, 1, function(r) dmultinom(r, prob = s))))
}
missing <- function(K, n, none) { # every colour at least once; none(S) = P(no colour of S in the bag)
  k <- length(K); tot <- 0
  for (m in 0:(2^k - 1)) { S <- bitwAnd(m, 2^(0:(k - 1))) > 0; tot <- tot + (-1)^sum(S) * none(S) }
  tot
}
chain.hyper <- function(K, n, least) {
  a <- numeric(n + 1); a[n + 1] <- 1; rest <- sum(K)
  for (i in seq_along(K)) { rest <- rest - K[i]; b <- numeric(n + 1)
    for (m in 0:n) if (a[m + 1] > 0 && m <= rest + K[i]) {
      x <- 0:m; x <- x[x >= least[i]]
      if (length(x)) b[m - x + 1] <- b[m - x + 1] + a[m + 1] * dhyper(x, K[i], rest, m) }
    a <- b }
  a[1]
}
chain.multi <- function(s, n, least) {
  a <- numeric(n + 1); a[n + 1] <- 1; rest <- sum(s)
  for (i in seq_along(s)) { p <- if (i == length(s)) 1 else s[i] / rest; rest <- rest - s[i]; b <- numeric(n + 1)
    for (m in 0:n) if (a[m + 1] > 0) { x <- 0:m; x <- x[x >= least[i]]
      if (length(x)) b[m - x + 1] <- b[m - x + 1] + a[m + 1] * dbinom(x, m, p) }
    a <- b }
  a[1]
}

out <- file("atleast.csv", "w")
cat("# Chance that a bag holds at least so many pieces of every colour. pool: pieces of each colour (finite) or\n",
    "# shares (endless). Rows \"printed\" are copied from a committed table of R 4.2.2; the others were made by reference.R\n# with ", vers, ".\n",
    "kind,pool,bag,least,p,way,src\n", sep = "", file = out)
row <- function(kind, pool, n, least, p, way)
  cat(kind, ",", join(pool), ",", n, ",", join(least), ",", if (is.character(p)) p else fmt(p), ",", way, ",r422\n", sep = "", file = out)
row("finite", c(40, 30, 30), 10, c(1, 1, 1), "0.949862518193335", "printed")
row("finite", c(400, 300, 300), 20, c(1, 1, 1), "0.998498744888335", "printed")
row("endless", c(.4, .3, .3), 10, c(1, 1, 1), "0.937575", "printed")
row("endless", c(1, 1, 1), 12, c(2, 2, 2), "0.839031990380868", "printed")
row("finite", c(40, 40, 40), 12, c(2, 2, 2), "0.864038707379801", "printed")
row("finite", c(40, 30, 30), 10, c(4, 3, 3), "0.087025376859427", "printed") # all taken: P of that one bag
row("endless", c(.4, .3, .3), 10, c(4, 3, 3), "0.0783820800000002", "printed")
for (e in list(
  list(c(40, 30, 30), 10, c(0, 2, 0)), list(c(40, 30, 30), 10, c(5, 0, 3)), list(c(3, 50, 9), 12, c(1, 4, 1)),
  list(c(1, 1, 60), 20, c(1, 1, 0)), list(c(7, 5, 3), 14, c(6, 4, 2)), list(c(20, 20, 20, 20), 16, c(2, 2, 2, 2)),
  list(c(5, 90, 14, 31), 18, c(1, 9, 1, 2)), list(c(12, 12), 12, c(11, 0)), list(c(6, 6, 6, 6, 6), 12, c(1, 2, 1, 2, 1)),
  list(c(200000, 300000, 500000), 30, c(4, 6, 10)), list(c(10, 999990), 40, c(1, 0)), list(c(10, 999990), 40, c(5, 0)),
  list(c(1000, 2000, 3000), 24, c(12, 0, 0))))
  row("finite", e[[1]], e[[2]], e[[3]], enum.hyper(e[[1]], e[[2]], e[[3]]), "enumeration")
for (e in list(
  list(c(2, 2, 1), 15, c(3, 3, 1)), list(c(1, 9), 20, c(1, 0)), list(c(1, 1, 98), 25, c(1, 1, 0)),
  list(c(1, 2, 3, 4), 16, c(1, 2, 3, 4)), list(c(5, 1, 1, 1), 12, c(6, 1, 1, 1)), list(c(0.7, 0.3), 30, c(25, 0)),
  list(c(1, 1, 1, 1, 1), 10, c(2, 2, 2, 2, 2))))
  row("endless", e[[1]], e[[2]], e[[3]], enum.multi(e[[1]], e[[2]], e[[3]]), "enumeration")
for (e in list(list(rep(50, 8), 40), list(rep(1000, 12), 60), list(c(20, 35, 50, 65, 80, 95, 110, 125, 140, 155), 45),
               list(rep(90000, 11), 48))) {
  K <- e[[1]]; n <- e[[2]]
  row("finite", K, n, rep(1, length(K)), missing(K, n, function(S) dhyper(0, sum(K[S]), sum(K[!S]), n)), "inclusion-exclusion")
}
for (e in list(list(rep(1, 8), 40), list(rep(1, 12), 60), list(1:10, 50))) {
  s <- e[[1]] / sum(e[[1]]); n <- e[[2]]
  row("endless", e[[1]], n, rep(1, length(s)), missing(s, n, function(S) sum(s[!S])^n), "inclusion-exclusion")
}
for (e in list(
  list(rep(5000, 12), 250, rep(12, 12)), list(c(500, 1000, 1500, 2000, 2500, 3000), 250, c(5, 15, 25, 35, 45, 55)),
  list(rep(1e6 / 10, 10), 1100, rep(90, 10)), list(c(1000, 9000, 90000, 900000), 1100, c(3, 12, 90, 950)),
  list(c(60, 60, 60, 60), 230, c(55, 55, 55, 55)), list(c(400000, 600000), 1100, c(520, 0)),
  list(c(400000, 600000), 1100, c(700, 0)), list(rep(84, 12), 1000, rep(80, 12))))
  row("finite", e[[1]], e[[2]], e[[3]], chain.hyper(e[[1]], e[[2]], e[[3]]), "chain")
for (e in list(
  list(rep(1, 12), 250, rep(12, 12)), list(c(1, 2, 3, 4, 5, 6), 250, c(5, 15, 25, 35, 45, 55)),
  list(rep(1, 10), 1100, rep(90, 10)), list(c(1, 9, 90, 900), 1100, c(3, 12, 90, 950)), list(c(2, 3), 1100, c(700, 0)),
  list(rep(1, 12), 1100, rep(90, 12))))
  row("endless", e[[1]], e[[2]], e[[3]], chain.multi(e[[1]], e[[2]], e[[3]]), "chain")
close(out)

out <- file("holds.csv", "w")
cat("# What a bag holds of the first colour: the mean, and the 5 % and 95 % points (qhyper, qbinom; ", vers, ", reference.R).\n",
    "kind,colour,rest,bag,mean,p05,p95,src\n", sep = "", file = out)
for (e in list(c(40, 60, 10), c(300, 700, 20), c(1, 99, 10), c(99, 1, 10), c(400000, 600000, 1100), c(5, 5, 9), c(0, 50, 20),
               c(50, 0, 20), c(1000, 999000, 1100), c(30, 30, 60)))
  cat("finite,", gsub(" ", ",", join(e)), ",", fmt(e[3] * e[1] / (e[1] + e[2])), ",", qhyper(.05, e[1], e[2], e[3]), ",",
      qhyper(.95, e[1], e[2], e[3]), ",r422\n", sep = "", file = out, fill = FALSE)
for (e in list(c(1, 2, 40), c(2, 3, 67), c(1, 11, 250), c(1, 999, 1100), c(9, 1, 12), c(0, 1, 5), c(1, 0, 5), c(1, 1, 1)))
  cat("endless,", gsub(" ", ",", join(e)), ",", fmt(e[3] * e[1] / (e[1] + e[2])), ",", qbinom(.05, e[3], e[1] / (e[1] + e[2])), ",",
      qbinom(.95, e[3], e[1] / (e[1] + e[2])), ",r422\n", sep = "", file = out, fill = FALSE)
close(out)
