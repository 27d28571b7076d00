// One neural net, run on the processor. The runtime is opened when first needed, so that the plugin
// can be loaded, and say what is missing, where there is none. Used by one thread; runs on two.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

namespace canalogue::burnt_text {

struct Tensor {
    std::vector<float> values;
    std::vector<std::int64_t> shape;  // outermost first
};

class Net {
  public:
    // Throws std::runtime_error with a sentence when the runtime or the file cannot be used.
    Net(const std::string& models_dir, const std::string& file);
    ~Net();

    // Nets with one input and one output, any size that the net takes. Throws std::runtime_error.
    Tensor run(Tensor& input);

  private:
    struct Session;
    std::unique_ptr<Session> session_;
};

// One sentence when nets cannot run here; empty when the runtime is in place.
std::string why_no_nets(const std::string& models_dir);

}  // namespace canalogue::burnt_text
