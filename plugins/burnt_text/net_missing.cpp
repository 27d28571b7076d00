// Stands in for net_onnx.cpp where the runtime's headers were missing when the plugin was built.
#include <stdexcept>

#include "plugins/burnt_text/net.hpp"

namespace canalogue::burnt_text {

namespace {
constexpr const char* kBuiltWithout =
    "It was built without the runtime for its models; run app/setup/models.sh and build again.";
}

struct Net::Session {};
Net::Net(const std::string&, const std::string&) { throw std::runtime_error(kBuiltWithout); }
Net::~Net() = default;
Tensor Net::run(Tensor&) { throw std::runtime_error(kBuiltWithout); }
std::string why_no_nets(const std::string&) { return kBuiltWithout; }

}  // namespace canalogue::burnt_text
