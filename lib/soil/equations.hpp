// The linear equations of one implicit step. Inside of the room.
#pragma once

#include "soil/column.hpp"

namespace firstmow::soil {

// The equations of one solution, for the changes x of water content or for temperatures:
//   above[i] x[i-1] + own[i] x[i] + below[i] x[i+1] = gain[i].
// Plain arrays, of which the first `count` are set: clearing or checking the rest would cost more
// than solving.
struct Equations {
    // Heat has a layer more than water.
    double above[kMaxLayers + 2];
    double own[kMaxLayers + 1];
    double below[kMaxLayers + 1];
    double gain[kMaxLayers + 1];

    // Elimination from both ends to the middle, which a processor does side by side.
    void solve(int count, double* x) {
        const int middle = count / 2;
        const int pairs = count - 1 - middle;
        for (int i = 0; i < pairs; ++i) {
            down_from(i);
            up_from(count - 1 - i);
        }
        if (middle > pairs) down_from(pairs);
        x[middle] = gain[middle] / own[middle];
        for (int i = 1; i <= pairs; ++i) {
            const int k = middle - i;
            const int l = middle + i;
            x[k] = (gain[k] - below[k] * x[k + 1]) * per_own[k];
            x[l] = (gain[l] - above[l] * x[l - 1]) * per_own[l];
        }
        if (middle > pairs) x[0] = (gain[0] - below[0] * x[1]) * per_own[0];
    }

private:
    double per_own[kMaxLayers + 1];

    void down_from(int i) {
        per_own[i] = 1 / own[i];
        const double f = above[i + 1] * per_own[i];
        own[i + 1] -= f * below[i];
        gain[i + 1] -= f * gain[i];
    }
    void up_from(int i) {
        per_own[i] = 1 / own[i];
        const double f = below[i - 1] * per_own[i];
        own[i - 1] -= f * above[i];
        gain[i - 1] -= f * gain[i];
    }
};

} // namespace firstmow::soil
