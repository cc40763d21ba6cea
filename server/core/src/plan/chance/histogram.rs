//! Finishes of many samples in bounded memory: counts in bins that widen as needed, and exact sums.

/// Bins of a histogram. A plan of three months resolves to 32 minutes, one of a day to the minute.
const BINS: usize = 4_096;

/// Counts of non-negative whole minutes. Bins are powers of two wide and start at 0, so that widening
/// and merging are exact and the result does not depend on the order of the values.
#[derive(Debug, Clone)]
pub(super) struct Histogram {
    counts: Vec<u64>,
    /// Bins are 2^shift minutes wide.
    shift: u32,
    count: u64,
    sum: u128,
    sum_squares: u128,
    least: u64,
    most: u64,
}

impl Histogram {
    pub(super) fn new() -> Self {
        Self {
            counts: vec![0; BINS],
            shift: 0,
            count: 0,
            sum: 0,
            sum_squares: 0,
            least: u64::MAX,
            most: 0,
        }
    }

    #[inline]
    pub(super) fn add(&mut self, minutes: u64) {
        while minutes >> self.shift >= BINS as u64 {
            self.widen();
        }
        self.counts[(minutes >> self.shift) as usize] += 1;
        self.count += 1;
        self.sum += u128::from(minutes);
        self.sum_squares += u128::from(minutes) * u128::from(minutes);
        self.least = self.least.min(minutes);
        self.most = self.most.max(minutes);
    }

    pub(super) fn merge(&mut self, mut other: Self) {
        while self.shift < other.shift {
            self.widen();
        }
        while other.shift < self.shift {
            other.widen();
        }
        self.counts
            .iter_mut()
            .zip(&other.counts)
            .for_each(|(mine, theirs)| *mine += theirs);
        self.count += other.count;
        self.sum += other.sum;
        self.sum_squares += other.sum_squares;
        self.least = self.least.min(other.least);
        self.most = self.most.max(other.most);
    }

    fn widen(&mut self) {
        for bin in 0..BINS / 2 {
            self.counts[bin] = self.counts[2 * bin] + self.counts[2 * bin + 1];
        }
        self.counts[BINS / 2..].fill(0);
        self.shift += 1;
    }

    pub(super) fn mean(&self) -> f64 {
        self.sum as f64 / self.count.max(1) as f64
    }

    /// Of the samples taken as the whole population.
    pub(super) fn standard_deviation(&self) -> f64 {
        let mean_square = self.sum_squares as f64 / self.count.max(1) as f64;
        (mean_square - self.mean().powi(2)).max(0.0).sqrt()
    }

    /// Value not exceeded by this share of the samples, interpolated within its bin.
    pub(super) fn quantile(&self, share: f64) -> f64 {
        let target = share * self.count as f64;
        let width = (1_u64 << self.shift) as f64;
        let mut below = 0.0;
        for (bin, &count) in self.counts.iter().enumerate().filter(|&(_, &count)| count > 0) {
            let count = count as f64;
            if below + count >= target {
                let value = (bin as f64 + (target - below).max(0.0) / count) * width;
                return value.clamp(self.least as f64, self.most as f64);
            }
            below += count;
        }
        self.most as f64
    }

    pub(super) fn resolution_min(&self) -> i64 {
        1 << self.shift
    }
}
