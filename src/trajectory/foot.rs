//! The nearest point on a parabola and the signed distance to it.

/// The foot of the perpendicular from a point to a parabola.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Foot {
    /// Abscissa of the nearest point, in the unit of the arguments.
    pub x: f64,
    /// Slope `dy/dx` of the curve there.
    pub slope: f64,
    /// Signed distance, positive where the point lies below the curve (larger y, y downwards).
    pub distance: f64,
}

/// The nearest point of `y = c + b x + a x^2` to `(px, py)`.
///
/// With `t = x - px`, `m = b + 2 a px` and `e = y(px) - py`, the squared distance
/// `t^2 + (e + m t + a t^2)^2` is stationary where
/// `2 a^2 t^3 + 3 a m t^2 + (1 + m^2 + 2 a e) t + e m = 0`. The real
/// roots come in closed form (Nickalls 1993, "A new approach to solving the cubic: Cardan's
/// solution revealed", Math. Gazette 77, 354-359), each is polished by Newton's method on the cubic
/// as it stands, and the nearest wins. Measuring `t` from the point keeps all digits for the flat
/// parabola `a -> 0`, where the cubic becomes the line's own equation.
///
/// A perpendicular shorter than `1/(2|a|)` is the only one so short (the reach of the curve, Federer
/// 1959, "Curvature measures", Trans. Am. Math. Soc. 93, 418-491), so for a point near the curve
/// Newton's method from the tangent suffices and the closed form is not asked.
///
/// On the axis inside the evolute two feet are equally near; one of them comes back. Arguments must
/// be finite and of magnitudes whose squares are finite.
pub fn foot(coefficients: [f64; 3], px: f64, py: f64) -> Foot {
    let [c, b, a] = coefficients;
    let m = b + 2.0 * a * px;
    let e = c + px * (b + a * px) - py;
    let quartic = |t: f64| {
        let rise = e + t * (m + a * t);
        t * t + rise * rise
    };
    let cubic = [e * m, 1.0 + m * m + 2.0 * a * e, 3.0 * a * m, 2.0 * a * a];
    let line = -e * m / (1.0 + m * m);
    let mut best = polish(cubic, line);
    let at_rest = {
        let value = cubic[0] + best * (cubic[1] + best * (cubic[2] + best * cubic[3]));
        let slope = cubic[1] + best * (2.0 * cubic[2] + best * 3.0 * cubic[3]);
        value.abs() <= 1e-10 * slope.abs() * (best.abs() + e.abs())
    };
    if !(at_rest && quartic(best) * 4.0 * a * a < 0.9) {
        let (roots, count) = real_roots(cubic);
        for &root in &roots[..count] {
            let t = polish(cubic, root);
            if quartic(t) < quartic(best) {
                best = t;
            }
        }
    }
    let size = quartic(best).sqrt();
    Foot { x: px + best, slope: m + 2.0 * a * best, distance: if e > 0.0 { -size } else { size } }
}

/// A few Newton steps on `k0 + k1 t + k2 t^2 + k3 t^3`; a step that does not shrink the value is
/// not taken.
fn polish(k: [f64; 4], start: f64) -> f64 {
    let value = |t: f64| k[0] + t * (k[1] + t * (k[2] + t * k[3]));
    let mut t = start;
    let mut at = value(t);
    for _ in 0..20 {
        let next = t - at / (k[1] + t * (2.0 * k[2] + t * 3.0 * k[3]));
        let there = value(next);
        if !next.is_finite() || there.abs() >= at.abs() {
            break;
        }
        (t, at) = (next, there);
    }
    t
}

/// Real roots of a cubic after Nickalls; none where the leading coefficient has vanished.
fn real_roots(k: [f64; 4]) -> ([f64; 3], usize) {
    let [d, c, b, a] = k;
    let centre = -b / (3.0 * a);
    let delta2 = (b * b - 3.0 * a * c) / (9.0 * a * a);
    let y = d + centre * (c + centre * (b + centre * a));
    let h2 = 4.0 * a * a * delta2 * delta2 * delta2;
    let excess = y * y - h2;
    if !(centre.is_finite() && delta2.is_finite() && excess.is_finite()) {
        return ([0.0; 3], 0);
    }
    if excess > 0.0 {
        let root = excess.sqrt();
        // the larger of the two cube roots first, the other from their product: no cancellation
        let big = (-(y + y.signum() * root) / (2.0 * a)).cbrt();
        let small = if big == 0.0 { 0.0 } else { delta2 / big };
        ([centre + big + small, 0.0, 0.0], 1)
    } else {
        let delta = delta2.max(0.0).sqrt();
        let h = 2.0 * a * delta * delta2;
        let third = if h == 0.0 { 0.0 } else { (-y / h).clamp(-1.0, 1.0).acos() / 3.0 };
        let turn = std::f64::consts::TAU / 3.0;
        let at = |angle: f64| centre + 2.0 * delta * angle.cos();
        ([at(third), at(third + turn), at(third - turn)], 3)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Nearest distance by brute force: a fine sweep, then golden-section search about the best.
    fn by_search([c, b, a]: [f64; 3], px: f64, py: f64) -> f64 {
        let far = |x: f64| (x - px).hypot(c + x * (b + a * x) - py);
        let reach = far(px);
        let n = 20_000;
        let x_at = |i: i32| px - reach + 2.0 * reach * f64::from(i) / f64::from(n);
        let best = (0..=n).min_by(|&i, &j| far(x_at(i)).total_cmp(&far(x_at(j)))).unwrap();
        let (mut lo, mut hi) = (x_at(best - 1), x_at(best + 1));
        for _ in 0..200 {
            let (l, r) = (lo + 0.382 * (hi - lo), lo + 0.618 * (hi - lo));
            if far(l) < far(r) { hi = r } else { lo = l }
        }
        far(0.5 * (lo + hi))
    }

    #[test]
    fn the_foot_is_the_nearest_point() {
        for curve in [[0.0, 0.0, 1.2e-3], [3.0, -0.2, 2.0e-3], [-5.0, 0.4, -1.0e-3], [0.0, 0.0, 0.02], [1.0, 2.0, 1e-9]]
        {
            for (px, py) in [(0.0, 5.0), (120.0, 17.0), (400.0, 192.5), (400.0, 900.0), (-30.0, -60.0), (0.3, 0.9)] {
                let found = foot(curve, px, py);
                let sought = by_search(curve, px, py);
                assert!(
                    (found.distance.abs() - sought).abs() < 1e-8 * (1.0 + sought),
                    "{curve:?} {px} {py}: {found:?} {sought}"
                );
                let slope = curve[1] + 2.0 * curve[2] * found.x;
                assert!((slope - found.slope).abs() < 1e-9 * (1.0 + slope.abs()));
                let below = py > curve[0] + px * (curve[1] + px * curve[2]);
                assert_eq!(found.distance > 0.0, below);
            }
        }
    }

    #[test]
    fn the_distance_changes_with_the_curve_as_its_derivative_says() {
        // d distance / d (c, b, a) = -(1, x, x^2) / sqrt(1 + slope^2) at the foot
        let (curve, px, py) = ([2.0, -0.1, 1.5e-3], 250.0, 66.0);
        let at = foot(curve, px, py);
        for (j, h) in [1e-4, 1e-6, 1e-9].into_iter().enumerate() {
            let moved = |s: f64| {
                let mut k = curve;
                k[j] += s * h;
                foot(k, px, py).distance
            };
            let difference = (moved(1.0) - moved(-1.0)) / (2.0 * h);
            let derivative = -at.x.powi(j as i32) / (1.0 + at.slope * at.slope).sqrt();
            assert!((difference / derivative - 1.0).abs() < 1e-6, "{j}: {difference} {derivative}");
        }
    }

    #[test]
    fn a_straight_line_and_a_point_on_the_curve_are_ordinary() {
        let line = foot([1.0, 1.0, 0.0], 0.0, 3.0);
        assert!((line.distance - 2.0_f64.sqrt()).abs() < 1e-15 && (line.x - 1.0).abs() < 1e-15);
        assert_eq!(foot([0.0, 0.0, 1.0], 2.0, 4.0).distance, 0.0);
    }
}
