/* The compiled loops of simulator/hand (ray, whole, walk) once more in C: what they are measured against. Motion is looked at anew at each
   step here, where the compiled loop knows the slopes from the last one.
   R_* and W_* number the fields of the records and come from the bench. All arrays are doubles in C order. */
#include <math.h>
#include <string.h>

enum { F = 4, A = 13, P = 24, S = 5 };
typedef double m13[A][A];
typedef struct {
  const double *ray, *whole, *muscle, *arms, *poly, *stop, *tie, *weight, *lever, *metric;
} K;

static void exponential(double z, double limit, double *area, double *value, double *slope) {
  double over = z - limit > 0 ? z - limit : 0, grown = exp(z - over);
  *value = grown * (1 + over);
  *area = *value + 0.5 * grown * over * over;
  *slope = grown;
}

static double logistic(double x) {
  if (x >= 0) return 1 / (1 + exp(-x));
  double g = exp(x);
  return g / (1 + g);
}

static void pull_of(const double *m, double x, double drive, const double *w, double *stored, double *force, double *slope) {
  double strain = m[2] - 1 + x / m[1], width = w[W_width], bell = 0, bell_area = 0, p = 0, ps = 0, pa = 0;
  if (drive != 0) {
    bell = drive * exp(-strain * strain / width);
    double root = sqrt(width);
    bell_area = drive * root * 0.5 * sqrt(M_PI) * erf(strain / root);
  }
  if (m[4] != 0) {
    double a, v, s;
    exponential(m[3] * (strain - m[5]), w[W_straight_above], &a, &v, &s);
    p = m[4] * v;
    ps = m[3] * m[4] * s;
    pa = m[4] * a / m[3];
  }
  *stored = m[0] * m[1] * (bell_area + pa);
  *force = m[0] * (bell + p);
  *slope = m[0] / m[1] * (ps - 2 / width * strain * bell);
}

static void toned_pull(const double *m, double x, double drive, double grown, double start, const double *w, double *stored,
                       double *force, double *slope) {
  pull_of(m, x, drive, w, stored, force, slope);
  if (grown != 0) {
    double y = m[2] + x / m[1] - start, wide = w[W_tone_width], root = sqrt(y * y + wide * wide);
    *stored += m[0] * m[1] * grown * 0.25 * (y * y + y * root + wide * wide * asinh(y / wide));
    *force += m[0] * grown * 0.5 * (y + root);
    *slope += m[0] / m[1] * grown * 0.5 * (1 + y / root);
  }
}

static void extensor(const double *r, double m, double p, double d, double *b) {
  double up = logistic((m - r[R_flexed_at]) / r[R_flexed_width]), down = logistic((r[R_slack_at] - m) / r[R_slack_width]);
  double d_up = up * (1 - up) / r[R_flexed_width], d_down = -down * (1 - down) / r[R_slack_width];
  double dd_up = d_up * (1 - 2 * up) / r[R_flexed_width], dd_down = -d_down * (1 - 2 * down) / r[R_slack_width];
  double fl = 1 - r[R_flexed_loss] * up, st = 1 - r[R_slack] * down, df = -r[R_flexed_loss] * d_up, ds = -r[R_slack] * d_down;
  double s0 = r[R_share] * fl * st, s1 = r[R_share] * (df * st + fl * ds);
  double s2 = r[R_share] * (-r[R_flexed_loss] * dd_up * st + 2 * df * ds - fl * r[R_slack] * dd_down);
  double bend = -2 * (r[R_central] * r[R_central_fall] + r[R_lateral] * r[R_lateral_fall]), both = r[R_central] + r[R_lateral];
  double e = both * p + 0.5 * bend * p * p + r[R_terminal] * d, ep = both + bend * p;
  b[0] = r[R_mcp_arm] * (m - r[R_mcp_fall] * m * m) + s0 * e;
  b[1] = r[R_mcp_arm] * (1 - 2 * r[R_mcp_fall] * m) + s1 * e;
  b[2] = s0 * ep;
  b[3] = s0 * r[R_terminal];
  b[4] = -2 * r[R_mcp_arm] * r[R_mcp_fall] + s2 * e;
  b[5] = s1 * ep;
  b[6] = s1 * r[R_terminal];
  b[7] = s0 * bend;
}

static void add_extensor(const double *b, double force, double steep, int at, double *g, m13 h) {
  for (int i = 0; i < 3; i++) {
    g[at + i] += force * b[1 + i];
    for (int j = 0; j < 3; j++) h[at + i][at + j] += steep * b[1 + i] * b[1 + j];
  }
  h[at][at] += force * b[4];
  h[at][at + 1] += force * b[5];
  h[at + 1][at] += force * b[5];
  h[at][at + 2] += force * b[6];
  h[at + 2][at] += force * b[6];
  h[at + 1][at + 1] += force * b[7];
}

static void wrist_paths(const K *k, double w, double out[7][3]) {
  const double *o = k->whole;
  double width = o[W_edc_width], turn = tanh(w / width), size = fabs(w / width);
  out[0][0] = o[W_edc_arm] * w - o[W_edc_change] * width * (size + log1p(exp(-2 * size)) - log(2.0));
  out[0][1] = o[W_edc_arm] - o[W_edc_change] * turn;
  out[0][2] = -o[W_edc_change] / width * (1 - turn * turn);
  double edge = o[W_edge], inside = w < -edge ? -edge : w > edge ? edge : w;
  for (int i = 0; i < 6; i++) {
    double arm = 0, path = 0, slope = 0, power = 1;
    for (int j = 0; j < 6; j++) {
      double c = k->poly[6 * i + j];
      arm += c * power;
      path += c / (j + 1) * power * inside;
      if (j + 1 < 6) slope += k->poly[6 * i + j + 1] * (j + 1) * power;
      power *= inside;
    }
    out[1 + i][0] = -(path + arm * (w - inside));
    out[1 + i][1] = -arm;
    out[1 + i][2] = inside == w ? -slope : 0;
  }
}

static double ray_energy(const K *k, int r, const double *q, double wr[7][3], const double *drive, const double *tone, double *b,
                         double *g, m13 h) {
  const double *ray = k->ray + r * R_count, *o = k->whole;
  int at = 1 + 3 * r, path = 5 * r;
  double m = q[at], p = q[at + 1], d = q[at + 2], value = 0, stored, force, steep;
  extensor(ray, m, p, d, b);
  for (int i = 0; i < 2; i++) {
    const double *mu = k->muscle + 6 * (path + i);
    if (mu[0] == 0) continue;
    double way = i ? ray[R_own_at_wrist] : ray[R_slip_at_wrist];
    pull_of(mu, way * wr[0][0] + b[0], drive[path + i], o, &stored, &force, &steep);
    value += stored;
    double slope = way * wr[0][1];
    g[0] += force * slope;
    h[0][0] += steep * slope * slope + force * way * wr[0][2];
    for (int j = 0; j < 3; j++) {
      h[0][at + j] += steep * slope * b[1 + j];
      h[at + j][0] += steep * slope * b[1 + j];
    }
    add_extensor(b, force, steep, at, g, h);
  }
  double grown = o[W_finger_gain] * tone[0];
  for (int i = 0; i < 2; i++) {
    const double *arms = k->arms + 6 * r + 3 * i, *w = wr[1 + i];
    toned_pull(k->muscle + 6 * (path + 2 + i), w[0] - arms[0] * m - arms[1] * p - arms[2] * d, drive[path + 2 + i], grown,
               o[W_finger_from], o, &stored, &force, &steep);
    value += stored;
    g[0] += force * w[1];
    h[0][0] += steep * w[1] * w[1] + force * w[2];
    for (int a = 0; a < 3; a++) {
      g[at + a] -= force * arms[a];
      h[0][at + a] -= steep * w[1] * arms[a];
      h[at + a][0] -= steep * w[1] * arms[a];
      for (int c = 0; c < 3; c++) h[at + a][at + c] += steep * arms[a] * arms[c];
    }
  }
  double arm = ray[R_int_pip], fall = ray[R_lateral_fall];
  double s[3] = {-ray[R_int_mcp], arm * (1 - 2 * fall * p), ray[R_int_dip]};
  pull_of(k->muscle + 6 * (path + 4), s[0] * m + arm * (p - fall * p * p) + s[2] * d, drive[path + 4], o, &stored, &force, &steep);
  for (int i = 0; i < 3; i++) {
    g[at + i] += force * s[i];
    for (int j = 0; j < 3; j++) h[at + i][at + j] += steep * s[i] * s[j];
  }
  h[at + 1][at + 1] -= 2 * fall * arm * force;
  return value + stored;
}

static double energy(const K *k, const double *q, const double *drive, const double *tone, double *g, m13 h) {
  const double *o = k->whole;
  double wr[7][3], b[F][8], value, stored, force, steep;
  memset(g, 0, A * sizeof(double));
  memset(h, 0, sizeof(m13));
  wrist_paths(k, q[0], wr);
  value = 0.5 * o[W_stiffness] * q[0] * q[0];
  g[0] += o[W_stiffness] * q[0];
  h[0][0] += o[W_stiffness];
  for (int i = 0; i < 4; i++) {
    toned_pull(k->muscle + 6 * (20 + i), wr[3 + i][0], drive[20 + i], i == 3 ? o[W_wrist_gain] * tone[1] : 0, o[W_wrist_from], o,
               &stored, &force, &steep);
    value += stored;
    g[0] += force * wr[3 + i][1];
    h[0][0] += steep * wr[3 + i][1] * wr[3 + i][1] + force * wr[3 + i][2];
  }
  for (int r = 0; r < F; r++) value += ray_energy(k, r, q, wr, drive, tone, b[r], g, h);
  for (int r = 0; r < F - 1; r++) {
    const double *t = k->tie + 4 * r;
    int one = 1 + 3 * r, two = 4 + 3 * r;
    if (t[0] != 0) {
      double apart = b[r][0] - b[r + 1][0] - t[1], f = t[0] * apart;
      value += 0.5 * f * apart;
      add_extensor(b[r], f, t[0], one, g, h);
      add_extensor(b[r + 1], -f, 0, two, g, h);
      for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) {
          h[two + i][two + j] += t[0] * b[r + 1][1 + i] * b[r + 1][1 + j];
          double across = t[0] * b[r][1 + i] * b[r + 1][1 + j];
          h[one + i][two + j] -= across;
          h[two + j][one + i] -= across;
        }
    }
    if (t[2] != 0) {
      double apart = q[one] - q[two] - t[3];
      value += 0.5 * t[2] * apart * apart;
      g[one] += t[2] * apart;
      g[two] -= t[2] * apart;
      h[one][one] += t[2];
      h[two][two] += t[2];
      h[one][two] -= t[2];
      h[two][one] -= t[2];
    }
  }
  for (int i = 0; i < A; i++)
    for (int j = 0; j < S; j++) {
      const double *s = k->stop + 4 * (S * i + j);
      if (s[1] == 0) continue;
      double z = s[0] * (q[i] - s[2]) / s[3], area, push, slope;
      if (z < -40) continue;
      exponential(z, o[W_straight_above], &area, &push, &slope);
      value += s[1] * s[3] * area;
      g[i] += s[0] * s[1] * push;
      h[i][i] += s[1] / s[3] * slope;
    }
  if (o[W_helped] != 0)
    for (int i = 1; i < A; i++) {
      double width = o[W_help_width], z = (q[i] - o[W_help_straight]) / width, size = fabs(z), near = 1 / (1 + exp(-size));
      if (z < 0) near = 1 - near;
      value += k->lever[i] * width * ((z > 0 ? z : 0) + log1p(exp(-size)));
      g[i] += k->lever[i] * near;
      h[i][i] += k->lever[i] / width * near * (1 - near);
    }
  if (k->weight[0] != 0) {
    value -= k->weight[0] * sin(q[0]);
    g[0] -= k->weight[0] * cos(q[0]);
    h[0][0] += k->weight[0] * sin(q[0]);
    for (int r = 0; r < F; r++) {
      int at = 1 + 3 * r;
      double bent = q[0];
      for (int i = 0; i < 3; i++) {
        bent += q[at + i];
        double drop = k->weight[at + i] * sin(bent), swing = k->weight[at + i] * cos(bent);
        value -= drop;
        g[0] -= swing;
        h[0][0] += drop;
        for (int a = 0; a <= i; a++) {
          g[at + a] -= swing;
          h[0][at + a] += drop;
          h[at + a][0] += drop;
          for (int c = 0; c <= i; c++) h[at + a][at + c] += drop;
        }
      }
    }
  }
  return value;
}

static int first_of(int j) {
  int f = 1 + 3 * ((j - 1) / 3 - 1);
  return f > 1 ? f : 1;
}

static double solve(m13 a, double *x) {
  double least = 1e300;
  for (int j = A - 1; j >= 0; j--) {
    double pivot = a[j][j];
    if (!(pivot > 0)) return -1;
    if (pivot < least) least = pivot;
    if (j == 0) break;
    int first = first_of(j);
    double over = 1 / pivot;
    for (int i = j - 1; i >= 0; i--) {
      if (0 < i && i < first) continue;
      double ratio = a[i][j] * over;
      if (ratio == 0) continue;
      a[0][i] -= ratio * a[0][j];
      for (int c = first; c <= i; c++) a[c][i] -= ratio * a[c][j];
      x[i] -= ratio * x[j];
    }
  }
  x[0] /= a[0][0];
  for (int j = 1; j < A; j++) {
    double total = x[j] - a[0][j] * x[0];
    for (int i = first_of(j); i < j; i++) total -= a[i][j] * x[i];
    x[j] = total / a[j][j];
  }
  return least;
}

static double look(const K *k, const double *q, const double *drive, const double *tone, int held, double hold,
                   const double *anchor, double *g, m13 h) {
  double value = energy(k, q, drive, tone, g, h);
  if (hold > 0)
    for (int i = 0; i < A; i++) {
      double away = q[i] - anchor[i], pulls = hold * k->metric[i];
      value += 0.5 * pulls * away * away;
      g[i] += pulls * away;
      h[i][i] += pulls;
    }
  if (held) g[0] = 0;
  return value;
}

static int walk(const K *k, double *q, const double *drive, const double *tone, int held, double hold, int most, double done) {
  double anchor[A], trial[A], step[A], scale[A], g[2][A];
  m13 h[2], a;
  memcpy(anchor, q, sizeof anchor);
  for (int i = 0; i < A; i++) scale[i] = 1 / sqrt(k->metric[i]);
  double damping = hold == 0 ? 0.05 : 1e-9, value = look(k, q, drive, tone, held, hold, anchor, g[0], h[0]);
  for (int now = 0, taken = 0;; taken++) {
    double worst = 0;
    for (int i = 0; i < A; i++)
      if (fabs(g[now][i]) > worst) worst = fabs(g[now][i]);
    if (worst <= done || taken == most) return taken;
    for (double shift = 0;; shift = shift == 0 ? 0.02 : 2 * shift) {
      for (int i = 0; i < A; i++) {
        step[i] = -g[now][i] * scale[i];
        a[0][i] = h[now][0][i] * (scale[0] * scale[i]);
        for (int j = first_of(i); i > 0 && j <= i; j++) a[j][i] = h[now][j][i] * (scale[j] * scale[i]);
        a[i][i] += damping + shift;
      }
      if (held) {
        step[0] = 0;
        for (int j = 1; j < A; j++) a[0][j] = 0;
        a[0][0] = 1;
      }
      if (solve(a, step) >= 1e-3) break;
    }
    double longest = 0;
    for (int i = 0; i < A; i++) {
      step[i] *= scale[i];
      if (fabs(step[i]) > longest) longest = fabs(step[i]);
    }
    double part = longest > 0.35 ? 0.35 / longest : 1;
    for (int i = 0; i < A; i++) trial[i] = q[i] + part * step[i];
    double there = look(k, trial, drive, tone, held, hold, anchor, g[1 - now], h[1 - now]);
    if (there <= value + 1e-12 * (1 + fabs(value))) {
      memcpy(q, trial, sizeof anchor);
      value = there;
      now = 1 - now;
      damping = damping * 0.15 > 1e-9 ? damping * 0.15 : 1e-9;
    } else
      damping = (damping > 1e-3 ? damping : 1e-3) * 6;
  }
}

void settle(const double **k, double *q, const double *drive, const double *tone, int held, int n, int most, double done) {
  const K one = {k[0], k[1], k[2], k[3], k[4], k[5], k[6], k[7], k[8], k[9]};
  for (int i = 0; i < n; i++) walk(&one, q + A * i, drive + P * i, tone + 2 * i, held, 0, most, done);
}

void move(const double **k, double *q, const double *drive, const double *tone, int held, int steps, double hold, double done,
          double *out) {
  const K one = {k[0], k[1], k[2], k[3], k[4], k[5], k[6], k[7], k[8], k[9]};
  for (int s = 0; s < steps; s++) {
    walk(&one, q, drive + P * s, tone, held, hold, 60, done);
    memcpy(out + A * s, q, A * sizeof(double));
  }
}
